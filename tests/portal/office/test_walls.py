"""Sites and their walls: details, entering, reordering, copying, and the plan while typing."""

import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from portal.forms.lengths import parse_metres
from portal.plan import VISIT_WORDS, live_plan_of, plan_of, visit_status
from readiness import clock
from readiness.models import Builder, Site
from tests.factories import make_builder, make_contact, make_draft, make_item, make_runs, make_site

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"office:{name}", args=args)


def details(**more):
    return {
        "street": "4 Ironbark Rise",
        "suburb": "Mirrin Vale",
        "state": "NSW",
        "postcode": "2999",
        "datum": "top of the slab",
        **more,
    }


def rows(*walls, **more):
    """The editor's form with these walls: (length, turn, label, id)."""
    data = {
        "wall-TOTAL_FORMS": len(walls),
        "wall-INITIAL_FORMS": 0,
        "whole": "yes",
        "first_faces": "",
        **more,
    }
    for n, (length, turn, label, *known) in enumerate(walls):
        data[f"wall-{n}-length"], data[f"wall-{n}-turn"] = length, turn
        data[f"wall-{n}-label"], data[f"wall-{n}-finish"] = label, "face_brick"
        data[f"wall-{n}-id"] = str(known[0]) if known else str(uuid.uuid4())
    return data


@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [
        ("12.4", 12_400),
        ("12,4", 12_400),
        ("12", 12_000),
        ("12.4 m", 12_400),
        ("12400 mm", 12_400),
        ("12400", 12_400),
        ("240 cm", 2_400),
        ("900", 900),
        ("0.6", 600),
    ],
)
def test_lengths_are_read_as_people_type_them(typed, length_mm):
    assert parse_metres(typed) == length_mm


@pytest.mark.parametrize("typed", ["", "twelve", "12 x", "1.2.3", "1e3"])
def test_what_is_no_length_is_refused_with_how_to_write_it(typed):
    with pytest.raises(ValidationError, match=r"12\.4"):
        parse_metres(typed)


def test_a_new_site_starts_with_its_builder_known_or_new(client_for, applicator):
    client, known = client_for(applicator), make_builder("Known Homes")
    page = client.get(url("site_new"))
    assert f"?builder={known.pk}" in page.content.decode()
    answer = client.post(url("site_new"), {"name": "New Homes"})
    made = Builder.objects.get(name="New Homes")
    assert answer.url == f"{url('site_new')}?builder={made.pk}"


def test_a_builder_that_is_there_already_is_not_made_twice(client_for, applicator):
    make_builder("Known Homes")
    answer = client_for(applicator).post(url("site_new"), {"name": "known homes"})
    assert "There is already a builder called" in answer.content.decode()
    assert Builder.objects.count() == 1


def test_a_new_site_is_one_site_even_when_it_is_sent_twice(client_for, applicator, builder):
    client, page = client_for(applicator), f"{url('site_new')}?builder={builder.pk}"
    data = details(site_id=str(client.get(page).context["site_id"]))
    for _ in range(2):
        answer = client.post(page, data)
    site = Site.objects.get()
    assert answer.url == url("walls", site.pk)
    assert (site.builder, site.created_by) == (builder, applicator)


def test_who_comes_back_to_a_new_site_mends_it(client_for, applicator, builder):
    client, page = client_for(applicator), f"{url('site_new')}?builder={builder.pk}"
    site_id = str(client.get(page).context["site_id"])
    client.post(page, details(site_id=site_id, street="4 Ironbrk Rise"))
    answer = client.post(page, details(site_id=site_id), follow=True)
    assert Site.objects.get().street == "4 Ironbark Rise"
    assert "4 Ironbark Rise, Mirrin Vale is added" in answer.content.decode()


def test_only_the_builders_own_contacts_can_be_told(client_for, applicator, builder):
    own, other = make_contact(builder).memberships.get(), make_contact().memberships.get()
    page = f"{url('site_new')}?builder={builder.pk}"
    refused = client_for(applicator).post(page, details(notify=[other.pk]))
    assert refused.status_code == 200
    assert "not one of the available choices" in refused.content.decode()
    assert "4 Ironbark Rise" in refused.content.decode()
    client_for(applicator).post(page, details(notify=[own.pk]))
    assert list(Site.objects.get().notify.all()) == [own]


@pytest.mark.parametrize("nobody", ["999999", "9" * 30, "-1", "Sam"])
def test_a_contact_that_does_not_exist_is_refused(client_for, applicator, builder, nobody):
    page = f"{url('site_new')}?builder={builder.pk}"
    answer = client_for(applicator).post(page, details(notify=nobody))
    assert answer.status_code == 200
    assert answer.context["form"].errors["notify"]
    assert not Site.objects.exists()


@pytest.mark.parametrize("pasted", ["-33.1, 151.2", "33 south"])
def test_a_position_that_can_not_be_read_is_said_and_not_left_out(
    client_for, applicator, builder, pasted
):
    page = f"{url('site_new')}?builder={builder.pk}"
    client = client_for(applicator)
    field = client.get(page).context["form"].fields["latitude"]
    assert field.widget.input_type == "text"  # a number's sends nothing for what it can't read
    answer = client.post(page, details(latitude=pasted)).content.decode()
    assert "Enter a number" in answer
    assert pasted in answer


def test_half_a_position_is_refused(client_for, applicator, builder):
    page = f"{url('site_new')}?builder={builder.pk}"
    answer = client_for(applicator).post(page, details(latitude="-33.1"))
    assert "Enter both latitude and longitude" in answer.content.decode()


def test_a_sites_details_can_be_changed_and_only_what_changed_is_recorded(client_for, applicator):
    site = make_site(street="4 Ironbark Rise", suburb="Mirrin Vale")
    client_for(applicator).post(url("site_edit", site.pk), details(access_notes="Gate code 12"))
    site.refresh_from_db()
    assert site.access_notes == "Gate code 12"
    assert "access_notes" in site.record.get(verb="site_changed").data["fields"]
    assert "street" not in site.record.get(verb="site_changed").data["fields"]


def test_saving_a_site_unchanged_records_nothing(client_for, applicator):
    site, client = make_site(), client_for(applicator)
    told = make_contact(site.builder).memberships.get()
    for _ in range(2):
        client.post(url("site_edit", site.pk), details(access_notes="Gate code 12"))
    client.post(url("site_edit", site.pk), details(access_notes="Gate code 12", notify=[told.pk]))
    first, second = site.record.filter(verb="site_changed").order_by("sequence")
    assert "access_notes" in first.data["fields"]
    assert second.data["fields"] == ["notify"]
    assert list(site.notify.all()) == [told]


def test_rain_is_noted_in_the_sites_own_time_and_never_in_the_future(client_for, applicator):
    site, client = make_site(state="WA"), client_for(applicator)
    with clock.at(datetime(2026, 1, 12, tzinfo=UTC)):
        client.post(url("rain", site.pk), {"rained_at": "2026-01-10T08:30"})
    site.refresh_from_db()
    assert site.rained_at.isoformat() == "2026-01-10T00:30:00+00:00"  # Perth is UTC+8
    later = (clock.now() + timedelta(days=3)).strftime("%Y-%m-%dT%H:%M")
    answer = client.post(url("rain", site.pk), {"rained_at": later}, follow=True)
    assert "That time is still to come" in answer.content.decode()
    for typed in ("0026-01-10T08:30", "0001-01-01T00:00"):
        answer = client.post(url("rain", site.pk), {"rained_at": typed}, follow=True)
        assert "Check the year" in answer.content.decode()


def test_walls_are_saved_in_order_and_named_by_themselves(client_for, applicator):
    site = make_site()
    walls = rows(("12.4", 90, ""), ("8", 90, "Garage"), ("12.4", 90, ""), ("8", 90, ""))
    client_for(applicator).post(url("walls", site.pk), walls)
    labels = list(site.wall_runs.values_list("label", "length_mm"))
    assert labels == [("Wall A", 12_400), ("Garage", 8_000), ("Wall C", 12_400), ("Wall D", 8_000)]


def test_walls_are_named_by_the_compass_when_the_first_ones_side_is_known(client_for, applicator):
    site = make_site()
    walls = rows(*[("8", 90, "")] * 4, first_faces="South")
    client_for(applicator).post(url("walls", site.pk), walls)
    # Facing the south wall from outside, its right-hand end is the east corner.
    assert list(site.wall_runs.values_list("label", flat=True)) == [
        "South wall",
        "East wall",
        "North wall",
        "West wall",
    ]


def test_blank_rows_are_no_walls(client_for, applicator):
    site = make_site()
    walls = rows(("12.4", 90, ""), ("", 90, ""), ("8", 90, ""))
    client_for(applicator).post(url("walls", site.pk), walls)
    assert site.wall_runs.count() == 2


def test_a_length_that_can_not_be_read_comes_back_with_everything_typed(client_for, applicator):
    site = make_site()
    walls = rows(("12.4", 90, "Front"), ("eight", 90, "Side"), ("500000", 90, "Back"))
    answer = client_for(applicator).post(url("walls", site.pk), walls)
    text = answer.content.decode()
    assert "“eight” is not a length" in text
    assert "be right. It can be from" in text
    assert 'value="eight"' in text
    assert site.wall_runs.count() == 0


def test_two_walls_of_one_name_are_refused_and_nothing_typed_is_lost(client_for, applicator):
    site = make_site()
    answer = client_for(applicator).post(
        url("walls", site.pk), rows(("12.4", 90, "Front"), ("8", 90, "front"))
    )
    assert "Two walls are called “Front”" in answer.content.decode()
    assert 'value="12.4"' in answer.content.decode()


@pytest.mark.parametrize(
    ("wish", "labels"),
    [
        ("up:1", ["B", "A", "C"]),
        ("down:1", ["A", "C", "B"]),
        ("remove:0", ["B", "C"]),
        ("up:0", ["A", "B", "C"]),
        ("down:2", ["A", "B", "C"]),
        ("add", ["A", "B", "C", ""]),
        ("up:99", ["A", "B", "C"]),
        ("nonsense", ["A", "B", "C"]),
    ],
)
def test_rows_move_without_scripts_and_nothing_is_stored(client_for, applicator, wish, labels):
    site = make_site()
    walls = rows(("1", 90, "A"), ("two", 90, "B"), ("3", 90, "C"), rearrange=wish)
    answer = client_for(applicator).post(url("walls", site.pk), walls)
    shown = [form["label"].value() for form in answer.context["rows"]]
    assert [label or "" for label in shown] == labels
    assert site.wall_runs.count() == 0


def test_a_wall_keeps_its_identity_when_it_moves(client_for, applicator):
    site = make_site()
    first, second = make_runs(site, "A", "B")
    walls = rows(("8", 90, "B", second.pk), ("12", -90, "A", first.pk))
    client_for(applicator).post(url("walls", site.pk), walls)
    first.refresh_from_db()
    assert (first.position, first.turn_degrees) == (2, -90)


def test_an_unusual_corner_is_kept(client_for, applicator):
    site = make_site()
    run = make_runs(site, "Bay")[0]
    run.turn_degrees = 30
    run.save()
    client = client_for(applicator)
    assert "30°" in client.get(url("walls", site.pk)).content.decode()
    client.post(url("walls", site.pk), rows(("8", 30, "Bay", run.pk)))
    run.refresh_from_db()
    assert (run.turn_degrees, run.length_mm) == (30, 8_000)


def test_a_wall_that_was_added_in_another_tab_is_not_taken_away(client_for, applicator):
    site, client = make_site(), client_for(applicator)
    first, second = make_runs(site, "North wall", "East wall")
    page = url("walls", site.pk)
    opened = client.get(page).context["seen"]
    kept = [("12", 90, "North wall", first.pk), ("8.5", 90, "East wall", second.pk)]
    client.post(page, rows(*kept, ("3", 90, "Porch"), seen=opened))
    porch = site.wall_runs.get(label="Porch")
    answer = client.post(page, rows(*kept, seen=opened))
    assert (
        "Somebody added Porch since you opened this page, now last in the list."
        in answer.content.decode()
    )
    assert 'value="8.5"' in answer.content.decode()
    assert str(porch.pk) in answer.content.decode()
    seen = answer.context["seen"]
    client.post(page, rows(*kept, ("3", 90, "Porch", porch.pk), seen=seen))
    assert [run.label for run in site.wall_runs.all()] == ["North wall", "East wall", "Porch"]
    client.post(page, rows(*kept, seen=seen))
    assert not site.wall_runs.filter(pk=porch.pk).exists()


def test_a_wall_of_another_site_can_not_be_taken_over(client_for, applicator):
    site, other = make_site(), make_runs(make_site(), "Theirs")[0]
    walls = rows(("8", 90, "Mine", other.pk))
    client_for(applicator).post(url("walls", site.pk), walls)
    other.refresh_from_db()
    assert (other.label, other.removed_at) == ("Theirs", None)
    assert site.wall_runs.get().label == "Mine"


def test_the_plan_is_drawn_of_what_is_typed_so_far(client_for, applicator):
    site = make_site()
    walls = rows(("12", 90, "Front"), ("8", 90, ""), ("11.4", 90, ""), ("8", 90, ""))
    text = client_for(applicator).post(url("walls_plan", site.pk), walls).content.decode()
    assert text.count('class="plan-run"') == 4
    assert "0.6 m from where Front starts" in text
    walls = rows(("12", 90, ""), ("not yet", 90, ""), ("", 90, ""))
    text = client_for(applicator).post(url("walls_plan", site.pk), walls).content.decode()
    assert text.count('class="plan-run"') == 1


def test_walls_are_copied_from_a_site_of_the_same_house_type(client_for, applicator, builder):
    source = make_site(builder, house_type="Courtyard")
    make_runs(source)
    make_runs(make_site(builder, house_type="Other"))
    site, client = make_site(builder, house_type="courtyard"), client_for(applicator)
    assert list(client.get(url("walls", site.pk)).context["sources"]) == [source]
    client.post(url("walls_copy", site.pk), {"source": source.pk})
    assert site.wall_runs.count() == 4
    again = client.post(url("walls_copy", site.pk), {"source": source.pk}, follow=True)
    assert "has walls already" in again.content.decode()
    assert client.post(url("walls_copy", site.pk), {"source": "nonsense"}).status_code == 404


def test_every_wall_of_a_plan_leads_somewhere_and_says_what_is_on_it(applicator):
    site = make_site()
    runs = make_runs(site)
    report = make_draft(applicator, site)
    make_item(applicator, report, run=runs[0], from_mm=3_000)
    items = list(report.items.all())
    plan = plan_of(
        runs,
        items=items,
        status=visit_status(runs, items, {runs[1].pk}),
        status_words=VISIT_WORDS,
        url_of=lambda run: f"#{run.pk}",
    )
    links = re.findall(r'<a href="#([^"]+)" aria-label="([^"]+)"><', plan.svg)
    assert [pk for pk, _ in links[:4]] == [str(run.pk) for run in runs]
    assert links[0][1] == "North wall, 12 m, has items, item 1"
    assert links[1][1] == "East wall, 12 m, checked, nothing found"
    assert links[2][1].endswith("not checked")
    assert plan.sentence == ""


def test_an_item_of_a_plan_is_at_its_distance_along_the_wall(applicator):
    site = make_site()
    runs = make_runs(site)
    make_item(applicator, make_draft(applicator, site), run=runs[0], from_mm=3_000)
    svg = plan_of(runs, items=site.reports.get().items.all()).svg
    x1, x2 = map(
        float, re.search(r'd="M([\d.]+) [\d.]+ L([\d.]+) [\d.]+"[^>]*plan-run', svg).groups()
    )
    (at,) = re.findall(r'd="M([\d.]+) [^"]*"[^>]*plan-leaders', svg)
    assert float(at) == pytest.approx(x1 + (x2 - x1) / 4, abs=0.2)


def test_a_wall_too_short_for_its_name_is_named_under_the_plan_unless_the_page_does(site):
    long_names = [f"Porch with the very long name, {side}" for side in "abcd"]
    runs = make_runs(site, "North", "East", "South", "West", *long_names)
    for run in runs[4:]:
        run.length_mm = 900
    first_words = ">Porch with the very"  # a long name goes over several lines
    assert plan_of(runs).svg.count(first_words) >= 4
    assert first_words not in plan_of(runs, listing=False).svg
    assert first_words not in live_plan_of(runs).svg


def test_a_site_is_archived_and_taken_out_again(client_for, applicator):
    site, client = make_site(), client_for(applicator)
    client.post(url("site_close", site.pk))
    site.refresh_from_db()
    assert site.closed_at is not None
    archived_at = site.closed_at
    client.post(url("site_close", site.pk))
    site.refresh_from_db()
    assert site.closed_at == archived_at
    assert "Archived." in client.get(url("site", site.pk)).content.decode()
    for _ in range(2):
        client.post(url("site_reopen", site.pk))
    site.refresh_from_db()
    assert site.closed_at is None
    verbs = site.record.values_list("verb", flat=True)
    assert (list(verbs).count("site_closed"), list(verbs).count("site_reopened")) == (1, 1)
