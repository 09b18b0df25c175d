"""The scenario: told through the actions, whole, and in every state that a site can be in."""

from collections import Counter
from datetime import UTC, datetime
from itertools import pairwise

import pytest
from django.db import transaction
from PIL import Image

from readiness import clock
from readiness.demo import album, houses, scenario, stories
from readiness.demo.dates import SiteDates
from readiness.demo.people import make_people
from readiness.evidence.verification import verify_all
from readiness.facts import SiteState
from readiness.models import Booking, DefectItem, Photo, Referral, Site, SiteReport, User
from readiness.photos.metadata import aware_time
from readiness.rules.band.levels import band_of

NOW = datetime(2026, 11, 25, 2, 30, tzinfo=UTC)


SMALL = {"small": (160, 120), "usual": (200, 150), "tall": (120, 160), "full": (240, 180)}


def told(now):
    """Tell the whole scenario as of `now`, in this process."""
    with clock.at(now - scenario.FIRST_DAY):
        people = make_people()
    scenario.add_sites(people, now, lambda words: None)
    return people


@pytest.fixture(scope="module")
def people(django_db_setup, django_db_blocker):
    """The scenario as of NOW with stamp-sized photos, told once for all tests that only look.

    `people.checked` is what checking every chain and photo said, while the files were at hand.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(album, "SIZES", SMALL)
            people = told(NOW)
        people.checked = verify_all()
        yield people
        transaction.set_rollback(True)


def site(job_number):
    return Site.objects.get(job_number=job_number)


@pytest.mark.long
def test_the_scenario_has_sites_in_every_state(people):
    states = {state.site.job_number: state for state in _states()}

    assert len({state.site.state for state in states.values()}) >= 6
    assert states["KH-1187"].assessment.site_status == "not_ready"
    assert any(reason.overdue for reason in states["KH-1187"].assessment.reasons)
    assert Counter(i.state for i in states["KH-1204"].items)["said_fixed"] == 3
    assert {i.state for i in states["KH-1171"].items} == {"to_fix", "sent_back", "accepted"}
    assert any(item.is_disputed for item in states["KH-1171"].items)
    assert states["KH-1165"].assessment.site_status == "ready"
    assert states["KH-1158"].assessment.confirmation_in_force
    assert states["KH-1158"].booking.state == Booking.State.ASKED
    assert states["KH-1149"].assessment.can_book
    assert states["KH-1213"].booking.state == Booking.State.OFFERED
    assert states["PL-085"].assessment.reasons[0].code == "drying"
    assert SiteReport.objects.drafts().get().site == site("PL-090")
    done = set(Booking.objects.values_list("state", flat=True))
    assert {Booking.State.TREATED, Booking.State.TURNED_AWAY, Booking.State.CONFIRMED} <= done


def _states():
    with clock.at(NOW):
        states = [SiteState.of(site) for site in Site.objects.all()]
        for state in states:
            _ = state.assessment
    return states


@pytest.mark.long
def test_tomorrow_means_the_next_working_day(people):
    booked = Booking.objects.get(state=Booking.State.CONFIRMED)

    assert booked.day == datetime(2026, 11, 26).date()


@pytest.mark.long
def test_a_second_report_supersedes_the_first_and_carries_over(people):
    first, second = SiteReport.objects.filter(site=site("PL-081")).order_by("number")

    assert second.supersedes == first
    assert first.superseded_at is not None
    assert second.items.get(kind="tight_crack").carried_from.report == first


@pytest.mark.long
def test_live_termites_wait_for_a_technician_and_a_wall_beyond_reach_is_decided(people):
    states = {state.site.job_number: state for state in _states()}
    termites = Referral.objects.get(kind=Referral.Kind.LIVE_TERMITES)
    barred = Referral.objects.get(kind=Referral.Kind.NO_ACCESS)

    assert termites.site == site("PL-090")
    assert termites.in_force is None
    assert states["PL-090"].assessment.reasons[0].code == "live_termites"
    assert not states["PL-090"].assessment.can_book
    assert barred.in_force.outcome == "not_treated"
    assert barred.in_force.licence_number
    assert [wall.label for wall in states["KH-1165"].facts(NOW).walls if not wall.reachable_mm] == [
        barred.wall_run.label
    ]
    assert barred.photos.count() == termites.photos.count() == 1


@pytest.mark.long
def test_nothing_is_found_where_there_is_no_wall(people):
    for item in DefectItem.objects.select_related("wall_run"):
        end = item.from_mm if item.to_mm is None else item.to_mm
        for opening in item.wall_run.levels.get("openings", ()):
            in_wall = end <= opening["from_mm"] or item.from_mm >= opening["to_mm"]
            assert in_wall or opening["wall_below"], f"{item.kind} on {item.wall_run.label}"


@pytest.mark.long
def test_the_tape_comes_first_where_the_whole_is_too_long_to_read_it(people):
    closer = [
        (story.lot.job_number, thing.kind)
        for story in stories.STORIES
        for thing in story.found
        if thing.closer
    ]
    for job_number, kind in closer:
        item = DefectItem.objects.filter(kind=kind, report__site=site(job_number)).first()
        first, second = item.photos.all()
        assert first.received_at < second.received_at


@pytest.mark.long
def test_every_chain_holds_and_nothing_happens_in_the_future(people):
    assert people.checked.first_break == ""
    assert people.checked.sites == 12
    assert people.checked.photos > 40
    for place in Site.objects.all():
        times = list(place.record.order_by("sequence").values_list("at", flat=True))
        assert times == sorted(times)
        assert not times or times[-1] <= NOW


@pytest.mark.long
@pytest.mark.parametrize(
    ("job_number", "wall"), [("KH-1171", "Living, back"), ("KH-1187", "Porch, back")]
)
def test_levels_show_a_real_shortfall_on_one_wall_of_some_sites(people, job_number, wall):
    state = next(state for state in _states() if state.site.job_number == job_number)
    lines = {run.label: band_of(run, state.values) for run in state.facts(NOW).runs}

    assert [label for label, line in lines.items() if line.shortfalls] == [wall]


@pytest.mark.long
def test_photos_say_where_and_when_they_were_taken_and_one_is_odd(people):
    photo = DefectItem.objects.get(kind="soil_against_brick", report__site=site("KH-1187")).photos
    camera = photo.first()
    odd = Photo.objects.exclude(software="").get()

    assert camera.camera_make == album.MAKE
    assert camera.taken_at < camera.received_at
    assert camera.taken_at == aware_time(camera.taken_at_local, camera.taken_offset)
    assert camera.taken_offset == "+11:00"  # New South Wales, in daylight saving time
    assert abs(camera.latitude - camera.site.latitude) < 0.001
    assert odd.taken_at < odd.fix.item.report.issued_at


@pytest.mark.long
def test_people_see_their_own_sites_only(people):
    def seen(user):
        return set(Site.objects.visible_to(user).values_list("builder__name", flat=True))

    assert seen(people.supervisor) == {"Kettlestone Homes (demo)"}
    assert seen(people.rival) == {"Paper Lantern Constructions (demo)"}
    assert Site.objects.visible_to(people.limited).count() == 2
    assert Site.objects.visible_to(people.owner).count() == 12


@pytest.mark.long
def test_nobody_in_the_demo_can_be_real(people):
    assert all(user.email.endswith(".example") for user in User.objects.all())
    assert all("(demo)" in place.builder.name for place in Site.objects.all())


@pytest.mark.parametrize("house", [houses.COURTYARD, houses.TERRACE])
def test_the_walls_of_a_house_close_round_its_plan(house):
    east = north = 0
    heading = 0  # along the first wall; the sum of turns goes round once
    for wall in house.walls:
        step = {0: (1, 0), 90: (0, -1), 180: (-1, 0), 270: (0, 1)}[heading % 360]
        east, north = east + step[0] * wall.length_mm, north + step[1] * wall.length_mm
        heading += wall.turn

    assert (east, north) == (0, 0)
    assert heading == 360
    assert 8 <= len(house.walls) <= 12


@pytest.mark.parametrize("now", ["2026-12-24T22:00", "2027-01-03T01:00", "2026-04-06T15:00"])
def test_the_diary_keeps_to_working_days_and_never_runs_ahead(now):
    moment = datetime.fromisoformat(now).replace(tzinfo=UTC)
    for state in ("NSW", "WA", "TAS"):
        dates = SiteDates(state, moment)
        days = [dates.day(count) for count in range(-8, 9) if count]

        assert all(first < then for first, then in pairwise(days))
        assert all(day.weekday() < 5 for day in days)
        assert dates.at(0, "23:59") <= moment


@pytest.mark.parametrize("now", ["2026-12-25T03:00", "2026-04-06T21:30"])
@pytest.mark.long
def test_the_scenario_can_be_told_on_any_day_of_the_year(db, monkeypatch, now):
    """Holidays and week-ends stretch the days between a confirmation and its booking."""
    asked, picture = [], Image.linear_gradient("L").convert("RGB")
    monkeypatch.setattr(album, "_picture", lambda shot: asked.append(shot) or picture)

    told(datetime.fromisoformat(now).replace(tzinfo=UTC))

    kept = sorted(path.stem for path in album.FOLDER.glob("*.webp"))
    assert Site.objects.count() == len(stories.STORIES)
    assert sorted(shot.name for shot in asked) == kept, "each picture is used, and used once"
    assert sum(shot.size == "full" for shot in asked) >= 3
