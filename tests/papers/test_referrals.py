"""What only a technician decides, on paper: live termites first, then what is not treated."""

import json
from dataclasses import replace
from datetime import UTC, datetime

import jsonschema
import pytest
from django.db import transaction
from django.test import override_settings

from readiness import clock
from readiness.actions import referrals
from readiness.models import Paper, SiteReport
from readiness.models.freeze import without_triggers
from readiness.papers import data, fix_list, pdf, site_report, treatment
from readiness.papers.render import render_paper
from readiness.papers.views import Snapshot
from readiness.snapshots import READERS, VERSION, facts_from_snapshot, snapshot_digest
from tests.conftest import stores_in
from tests.factories import confirm, make_applicator, make_builder, make_contact
from tests.papers import reports
from tests.papers.drawn import SVG, paths, read, span
from tests.papers.reading import flat, pages_of
from tests.papers.test_attached_data import data_of, not_printed

NOW = datetime(2026, 11, 23, 1, 0, tzinfo=UTC)
"""11 in the morning in Queensland."""
LEAVE = "Leave everything there as it is: no spraying, no clearing, no digging."
BOUNDARY = (
    "Not treated: West wall (D), the whole of it: boundary wall against a neighbour's, no access. "
    "Decided by Alex Applicator (licence T-2208) on Mon 23 November 2026: “50 mm to the fence.”"
)
MEANS = (
    # check-values: a boundary wall with no access, timber industry guide, quoted.
    "A boundary wall without access is a high risk. Another system there, and shorter inspection "
    "intervals, are for the licensed technician to decide. Source: timber industry guide (quoted)."
)


def tell():
    """A house with an open find and two walls that can't be reached, its report, then treated."""
    actor = make_applicator(name="Alex Applicator", licence_number="T-2208")
    builder = make_builder("Wattle Homes")
    contact = make_contact(builder)
    site = reports.make_site(actor, builder=builder)
    north, east, _, west = site.wall_runs.order_by("position")
    found = referrals.note_live_termites(
        actor, site, wall_run=north, from_mm=2400, note="Mud tube up the slab edge.",
        photos=[reports.put_photo(site, number=900), reports.put_photo(site, number=901)],
    )  # fmt: skip
    whole = referrals.note_no_access(actor, west, cause="boundary")
    referrals.decide_referral(actor, whole, outcome="not_treated", reason="50 mm to the fence.")
    part = referrals.note_no_access(actor, east, cause="hidden", from_mm=0, to_mm=4200)
    report = reports.issue(
        actor=actor, site=site, items=2, walls=4,
        business={"technician_name": "Kim Lee", "technician_phone": "07 5550 0188"},
    )  # fmt: skip
    papers = list(report.papers.order_by("pk"))
    made = {paper.kind: render_paper(paper).content for paper in papers}
    referrals.decide_referral(
        actor, found, outcome="treated_separately", reason="Nest in the stump, dusted.",
        photos=[reports.put_photo(site, number=902)],
    )  # fmt: skip
    referrals.decide_referral(actor, part, outcome="not_treated", reason="Tank on a slab.")
    again = reports.issue(actor=actor, site=site, items=0)
    later = again.papers.get(kind=Paper.Kind.SITE_REPORT)
    made["later"] = render_paper(later).content
    confirmation = confirm(contact, again)
    made["confirmation"] = render_paper(confirmation.papers.get()).content
    made["treatment"] = render_paper(reports.treat(again, confirmation)).content
    return report, made


@pytest.fixture(scope="module")
def told(django_db_setup, django_db_blocker, tmp_path_factory):
    stores = stores_in(tmp_path_factory.mktemp("referred"))
    with django_db_blocker.unblock(), transaction.atomic():
        with override_settings(STORAGES=stores), clock.at(NOW):
            yield tell()
        transaction.set_rollback(True)


def text(content) -> str:
    return flat(reports.text_of(content, "-layout"))


def test_the_site_report_says_live_termites_first(told):
    _, made = told
    first = pages_of(made["site_report"])[0]
    said = (
        "Live termites or mud tubes found on Mon 23 November 2026, North wall, at 2.4 m. Nothing "
        "can be booked until a licensed technician has decided."
    )
    assert first.index("Not ready") < first.index(said)
    assert first.index(said) < first.index("must be fixed before we can book")
    assert first.index(said) < first.index("Live termites or mud tubes: do not disturb")
    assert first.count(LEAVE) == 1
    assert "To call: Kim Lee, 07 5550 0188." in first


def test_the_site_report_shows_what_was_found_and_that_nobody_decided_yet(told):
    _, made = told
    pages = " ".join(pages_of(made["site_report"]))
    found = "Found at 11:00 am on Mon 23 November 2026 by Alex Applicator: North wall, at 2.4 m."
    assert found in pages
    assert "Note: Mud tube up the slab edge." in pages
    assert "No decision yet." in pages


def test_the_limits_stand_on_the_site_report_with_who_decided_when_and_why(told):
    _, made = told
    pages = " ".join(pages_of(made["site_report"]))
    assert "Limits of the treatment" in pages
    assert BOUNDARY in pages
    assert MEANS in pages
    assert (
        "Nobody can reach East wall (B), from 0 m to 4.2 m (4.2 m): hidden behind something fixed. "
        "The licensed technician has not decided about it yet."
    ) in pages
    assert "Nobody can reach it: see the limits of the treatment." in pages
    assert "Nobody can reach a part of it: see the limits of the treatment." in pages


def test_a_wall_that_nobody_can_reach_takes_no_litres(told):
    """36.6 m of brick and render can be reached of 40.8 m: 12 + 8.4 - 4.2 + 12 m of brick."""
    _, made = told
    (step,) = [
        one for one in data_of(made["site_report"])["quantities"]
        if one["what"] == "Liquid on brick"
    ]  # fmt: skip
    assert step["working"].startswith("28.2 m of brick wall")
    assert not [
        one for one in data_of(made["site_report"])["quantities"]
        if one["what"] == "Liquid on render"
    ]  # fmt: skip


def band_from(drawing: str) -> float:
    """How far along a drawn wall the treated band begins, as a part of the wall's length."""
    (edge,) = (box for box in read(drawing).iter(f"{SVG}rect") if box.get("fill") == "none")
    start, *_ = span([point for part in paths(drawing, "treated") for point in part])
    return (start - float(edge.get("x"))) / float(edge.get("width"))


def test_the_drawings_show_no_band_where_nobody_can_reach(told):
    """Nobody can reach the east wall from 0 to 4.2 of its 8.4 m."""
    report, _ = told
    snapshot = Snapshot(report.snapshot)
    walls = {wall.letter: wall for wall in site_report.build(snapshot).context["walls"]}
    assert band_from(walls["A"].drawing) == pytest.approx(0, abs=0.01)
    assert band_from(walls["B"].drawing) == pytest.approx(0.5, abs=0.01)
    item = report.items.get(wall_run__label="East wall")
    ((_, drawing),) = fix_list.build(snapshot, item.trade).context["items"]
    assert band_from(drawing) == pytest.approx(0.5, abs=0.01)


def test_no_wall_is_called_right_of_which_nobody_can_reach_a_part(told):
    """All four were walked, and on the last two nothing was found."""
    report, _ = told
    right = site_report.build(Snapshot(report.snapshot)).context["right"]
    assert [wall.letter for wall in right] == []
    reached = Snapshot(report.snapshot | {"referrals": []})
    assert [wall.letter for wall in site_report.build(reached).context["right"]] == ["D"]


def test_a_trades_list_draws_no_wall_that_nobody_can_reach(told):
    """Nothing is treated there, and a drawing without a band would ask for a struck joint."""
    report, _ = told
    entry = report.snapshot["items"][1] | {"run": report.snapshot["runs"][3]["id"]}
    snapshot = Snapshot(report.snapshot | {"items": [entry]})
    context = fix_list.build(snapshot, entry["trade"]).context
    assert [drawing for _, drawing in context["items"]] == [""]
    assert context["undrawn"]


def test_a_trades_list_tells_them_to_leave_all_as_it_is(told):
    _, made = told
    first = pages_of(made["fix_list"])[0]
    assert LEAVE in first
    assert "To call: Kim Lee, 07 5550 0188." in first


def test_the_photo_record_has_their_photos(told):
    _, made = told
    photos = data_of(made["photo_record"])["photos"]
    found = [one for one in photos if one["heading"] == "Live termites or mud tubes"]
    assert [one["where"] for one in found] == ["North wall, at 2.4 m"] * 2


def test_a_later_report_says_what_was_decided_and_no_more_to_leave_it(told):
    _, made = told
    pages = " ".join(pages_of(made["later"]))
    assert (
        "Treated separately: work can go on. Decided by Alex Applicator (licence T-2208) on Mon "
        "23 November 2026: “Nest in the stump, dusted.”"
    ) in pages
    assert LEAVE not in pages
    assert "Ready" in pages_of(made["later"])[0]


def test_the_treatment_record_says_what_was_not_treated_and_what_was_found(told):
    _, made = told
    pages = " ".join(pages_of(made["treatment"]))
    assert BOUNDARY in pages
    assert "Not treated: East wall (B), from 0 m to 4.2 m (4.2 m): hidden behind" in pages
    assert "Live termites or mud tubes found" in pages
    assert "Nest in the stump, dusted." in pages
    walls = {wall["letter"]: wall["ends"] for wall in data_of(made["treatment"])["walls"]}
    assert walls["D"] == "not treated: no access, see above"
    assert walls["B"].endswith("; a part is not treated, see above")
    assert "see above" not in walls["A"]
    facts = {one["what"]: one["value"] for one in data_of(made["treatment"])["treatment"]["facts"]}
    assert facts["Length of the walls"] == "40.8 m, 28.2 m of it within reach"


def test_no_gauge_is_doubted_of_a_wall_that_nobody_can_reach(told):
    """Nothing was counted with it."""
    report, _ = told
    snapshot = Snapshot(report.snapshot)
    walls = [replace(wall, gauge=None) for wall in snapshot.facts.walls]
    assert "walls A, B and C" in treatment._gauges_in_doubt(snapshot, walls)
    walls[0] = replace(walls[0], out_of_reach=((0, walls[0].length_mm),))
    assert "walls B and C" in treatment._gauges_in_doubt(snapshot, walls)


def test_the_confirmation_asks_nothing_of_a_wall_that_nobody_can_reach(told):
    """These tests' helper ticks every wall; what is ticked is printed as it was."""
    _, made = told
    pages = " ".join(pages_of(made["confirmation"]))
    assert BOUNDARY in pages
    assert MEANS in pages


def test_what_goes_with_each_paper_is_what_it_prints_and_follows_the_schema(told):
    report, made = told
    schema = json.loads((pdf.FOLDER / "schema" / f"paper-{data.VERSION}.json").read_text())
    for name, content in made.items():
        assert not_printed(content, report.site.zone) == [], name
        jsonschema.Draft202012Validator(schema).validate(data_of(content))


def test_a_report_of_version_2_has_none_of_it(told, db):
    report, _ = told
    old = {key: part for key, part in report.snapshot.items() if key != "referrals"}
    kinds = {slug: {k: v for k, v in words.items() if k != "cautions"}
             for slug, words in old["kinds"].items()}  # fmt: skip
    old |= {"version": 2, "kinds": kinds, "rules": []}
    assert set(READERS) == set(range(1, VERSION + 1))
    assert facts_from_snapshot(Snapshot(old).content).referrals == ()
    with transaction.atomic():
        with without_triggers():
            SiteReport.objects.filter(pk=report.pk).update(
                snapshot=old, digest=snapshot_digest(old)
            )
        paper = Paper.objects.get(report=report, kind=Paper.Kind.SITE_REPORT)
        assert LEAVE not in text(render_paper(paper).content)
        transaction.set_rollback(True)
