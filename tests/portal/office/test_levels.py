"""Screens of levels, quantities and rule values, without a browser."""

import re

import pytest
from django.http import QueryDict
from django.urls import reverse

from portal.requests.whole_form import filled_up
from readiness.actions.sites.sites import copy_wall_runs
from readiness.facts import run_facts
from readiness.models import DefectItem
from readiness.photos.measurements import coursing_of
from readiness.rules.band.geometry import (
    COMMON_BLOCK,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    Perpend,
    Unit,
    WeepHoles,
)
from readiness.rules.band.geometry import WallRun as PlainRun
from tests.factories import make_applicator, make_draft, make_item, make_runs, make_site
from tests.rules.walls import VALUES

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(applicator):
    return make_runs(make_site(), "North wall", "East wall", length_mm=6000)[0]


def page(name, of):
    return reverse(f"office:{name}", args=[of.pk])


def form(**typed):
    """What a person types for a brick wall, with the lists' counts as the page sends them."""
    data = {
        "ground_from": "slab", "bed_joint": "172", "gauge_courses": "1",
        "gauge_height": "86", "weep_from": "slab", "surface": "soil", "courses_treated": "2",
        "whole": "yes",
        "ground-0-at": "0", "ground-0-mm": "300", "ground-1-at": "6", "ground-1-mm": "200",
    }  # fmt: skip
    for name in (
        "ground",
        "finishes",
        "finished",
        "struck",
        "weeps",
        "joints",
        "attachments",
        "openings",
    ):
        data[f"{name}-TOTAL_FORMS"], data[f"{name}-INITIAL_FORMS"] = "4", "0"
    return data | {key.replace("__", "-"): value for key, value in typed.items()}


def text(response):
    return re.sub(r"\s+", " ", response.content.decode())


def test_levels_are_saved_as_they_were_measured(client_for, applicator, run):
    response = client_for(applicator).post(
        page("run_levels", run), form(weeps__0__mm="0", weeps__0__spacing="1200", joints__0__at="3",
                                      joints__0__width="10", joints__0__kind="articulation")
    )  # fmt: skip
    assert response.status_code == 302
    run.refresh_from_db()
    plain = run_facts(run)
    assert plain.ground_today == (GroundPoint(0, -300), GroundPoint(6000, -200))
    assert (plain.bed_joint_mm, plain.gauge) == (-172, Gauge(1, 86))
    assert plain.weep_holes == (WeepHoles(0, 1200),)
    assert plain.joints == (Joint(3000, 10),)


def test_a_point_between_the_ends_is_typed_below_them(client_for, applicator, run):
    """The ends are there already, so that what the ground does between them comes last."""
    data = form(ground__2__at="2,4", ground__2__mm="250", ground__3__at="2", ground__3__mm="290")
    live = client_for(applicator).post(page("run_levels_check", run), data)
    assert "Treat up to the" in text(live)
    client_for(applicator).post(page("run_levels", run), data)
    run.refresh_from_db()
    assert run_facts(run).ground_today == (
        GroundPoint(0, -300), GroundPoint(2000, -290), GroundPoint(2400, -250),
        GroundPoint(6000, -200),
    )  # fmt: skip


def test_the_answer_comes_while_typing_and_saves_nothing(client_for, applicator, run):
    response = client_for(applicator).post(page("run_levels_check", run), form())
    assert "172 mm below the top of the slab, with 1 step" in text(response)
    assert "<svg" in text(response)
    assert 'hx-swap-oob="true"' in text(response)
    run.refresh_from_db()
    assert run.levels == {}


def test_half_typed_rows_wait_while_typing_but_are_named_on_saving(client_for, applicator, run):
    data = form(ground__2__at="3")
    live = client_for(applicator).post(page("run_levels_check", run), data)
    assert "Treat up to the" in text(live)
    saved = client_for(applicator).post(page("run_levels", run), data)
    assert saved.status_code == 200
    assert "Ground today, point 3, mm down: Fill this in." in text(saved)
    assert 'value="300"' in text(saved), "nothing typed is lost"


def test_a_number_that_cant_be_right_is_named_and_kept(client_for, applicator, run):
    response = client_for(applicator).post(
        page("run_levels", run), form(gauge_courses="7", gauge_height="6000", note="x")
    )
    assert "7 courses in 6000 mm is 857.1 mm a course" in text(response)
    assert 'href="#section-brick"' in text(response)
    assert 'value="6000"' in text(response)
    run.refresh_from_db()
    assert run.levels == {}


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"ground-0-mm": "a lot"}, "“a lot” is not a length. Write 2400 or 2.4 m."),
        ({"ground-1-at": "60"}, "is off the wall, which is 6 m long"),
        ({"gauge_height": ""}, "Enter both: the number of courses"),
        ({"weeps-0-mm": "400", "brick_bottom": "300"}, "under the bottom of the brickwork"),
        ({"ground_from": "bed_joint", "bed_joint": ""}, "Enter first where a bed joint is."),
        ({"unit": "own", "unit_height": "140"}, "Enter the size, or choose one above."),
        (
            {"openings-0-start": "1", "openings-0-end": "2", "openings-0-below": "yes"},
            "Enter how far the wall goes up.",
        ),
    ],
)
def test_every_slip_has_its_own_message(client_for, applicator, run, typed, message):
    response = client_for(applicator).post(page("run_levels", run), form() | typed)
    assert response.status_code == 200
    assert message in text(response)


def test_ground_can_be_measured_from_the_lowest_bed_joint(client_for, applicator, run):
    data = form(ground_from="bed_joint", ground__0__mm="128", ground__1__mm="28")
    client_for(applicator).post(page("run_levels", run), data)
    run.refresh_from_db()
    assert run_facts(run).ground_today == (GroundPoint(0, -300), GroundPoint(6000, -200))


def test_weep_holes_can_be_measured_up_from_the_ground(client_for, applicator, run):
    client_for(applicator).post(
        page("run_levels", run), form(weeps__0__mm="290", weep_from="ground")
    )
    run.refresh_from_db()
    assert run_facts(run).weep_holes == (WeepHoles(-10),)


def test_more_rows_can_be_had_without_javascript(client_for, applicator, run):
    response = client_for(applicator).post(page("run_levels", run), form(more="ground"))
    assert response.status_code == 200
    assert 'name="ground-5-at"' in text(response)
    assert 'value="300"' in text(response)
    run.refresh_from_db()
    assert run.levels == {}


def test_one_measured_wall_fills_in_the_brick_of_the_next(client_for, applicator, run):
    client_for(applicator).post(
        page("run_levels", run), form(weeps__0__mm="0", weeps__0__spacing="960")
    )
    following = run.site.wall_runs.get(label="East wall")
    response = client_for(applicator).get(page("run_levels", following))
    assert "copied from North wall" in text(response)
    assert 'value="172"' in text(response)
    assert 'value="960"' in text(response)
    assert 'value="300"' not in text(response), "the ground is measured on each wall"


def test_saving_goes_on_to_the_next_wall(client_for, applicator, run):
    following = run.site.wall_runs.get(label="East wall")
    client = client_for(applicator)
    response = client.post(page("run_levels", run), form(next="1"))
    assert response.url == page("run_levels", following)
    response = client.post(page("run_levels", following), form(next="1"))
    assert response.url == page("levels", run.site)


def test_what_is_wrong_goes_into_the_report_with_one_tap(client_for, applicator, run):
    data = form(ground__0__mm="140", ground__1__mm="140", weeps__0__mm="86")
    client = client_for(applicator)
    live = client.post(page("run_levels_check", run), data)
    key = re.search(r'name="add" value="(ground_too_high[^"]*)"', live.content.decode())[1]
    response = client.post(page("run_levels", run), data | {"add": key}, follow=True)
    item = DefectItem.objects.get()
    assert (item.kind, item.measured_value, item.wall_run) == ("ground_too_high", 54, run)
    assert f'href="{reverse("office:item", args=[item.pk])}"' in text(response)
    assert "In the draft report as item 1" in text(response)


TWO_ROWS = {
    "weeps__0__mm": "0", "weeps__0__spacing": "1200", "weeps__0__end": "2.5",
    "weeps__2__mm": "86", "weeps__2__start": "2.5", "weeps__2__places": "3, 3.9 4,8; 5700 mm",
}  # fmt: skip
AS_STORED = (
    WeepHoles(0, 1200, to_mm=2500),
    WeepHoles(-86, positions_mm=(3000, 3900, 4800, 5700), from_mm=2500),
)


def test_a_wall_has_several_rows_of_weep_holes_that_are_shown_again(client_for, applicator, run):
    client = client_for(applicator)
    assert client.post(page("run_levels", run), form(**TWO_ROWS)).status_code == 302
    run.refresh_from_db()
    assert run_facts(run).weep_holes == AS_STORED
    shown = text(client.get(page("run_levels", run)))
    for name, value in (
        ("0-mm", "0"), ("0-spacing", "1200"), ("0-end", "2.5"),
        ("1-mm", "86"), ("1-start", "2.5"), ("1-places", "3; 3.9; 4.8; 5.7"),
    ):  # fmt: skip
        assert re.search(f'name="weeps-{name}" value="{value}"', shown), name
    assert 'name="weeps-2-mm"' in shown, "a blank row to go on with"


def test_a_row_of_weep_holes_is_removed_and_the_others_stay(client_for, applicator, run):
    client = client_for(applicator)
    client.post(page("run_levels", run), form(**TWO_ROWS))
    response = client.post(page("run_levels", run), form(**TWO_ROWS, remove="weeps-0"))
    assert response.status_code == 200
    shown = text(response)
    assert 'name="weeps-1-mm" value="86"' in shown
    assert 'name="weeps-3-mm"' not in shown
    assert 'value="1200"' not in shown
    run.refresh_from_db()
    assert run_facts(run).weep_holes == AS_STORED, "nothing is saved yet"
    second = {key: value for key, value in TWO_ROWS.items() if key.startswith("weeps__2")}
    client.post(page("run_levels", run), form(**second))
    run.refresh_from_db()
    assert run_facts(run).weep_holes == AS_STORED[1:]


@pytest.mark.parametrize("odd", ["", "weeps", "weeps-9", "weeps-x", "nothing-1", "weeps-1-2"])
def test_removing_a_row_that_is_not_there_changes_nothing(client_for, applicator, run, odd):
    response = client_for(applicator).post(page("run_levels", run), form(**TWO_ROWS, remove=odd))
    assert response.status_code == 200
    assert 'name="weeps-2-mm" value="86"' in text(response)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"weeps-0-spacing": "960"}, "Weep holes, row 1, Underside, mm: Fill this in."),
        ({"weeps-1-mm": "low"}, "“low” is not a length"),
        ({"weeps-0-mm": "0", "weeps-0-places": "1, two"}, "“two” is not a length"),
        ({"weeps-0-mm": "0", "weeps-0-end": "7"}, "Row 1 of the weep holes goes past the wall"),
        ({"weeps-0-mm": "0", "weeps-0-start": "3", "weeps-0-end": "2"}, "before it starts (3 m)"),
        ({"weeps-0-mm": "0", "weeps-0-places": "1, 61"}, "A weep hole at 61 m is off the wall"),
    ],
)
def test_a_slip_in_a_row_of_weep_holes_is_named_and_kept(
    client_for, applicator, run, typed, message
):
    response = client_for(applicator).post(page("run_levels", run), form() | typed)
    shown = text(response)
    assert response.status_code == 200
    assert message in shown
    for name, value in typed.items():
        assert f'name="{name}" value="{value}"' in shown
    run.refresh_from_db()
    assert run.levels == {}


def test_a_rendered_wall_is_asked_for_its_struck_joint(client_for, applicator):
    (run,) = make_runs(make_site(), "East wall", length_mm=6000, finish="render")
    client = client_for(applicator)
    assert "Struck joint, mm" in text(client.get(page("run_levels", run)))
    data = form(struck_joint="100", struck_from="slab", struck__0__at="3", struck__0__mm="50")
    client.post(page("run_levels", run), data)
    run.refresh_from_db()
    plain = run_facts(run)
    assert (plain.struck_joint_mm, plain.struck_steps[0].level_mm) == (-100, -50)


def test_a_measured_wall_shows_its_numbers_again(client_for, applicator, run):
    client = client_for(applicator)
    client.post(page("run_levels", run), form(finishes__0__start="1", finishes__0__end="2.5",
                finishes__0__thickness="60", finishes__0__surface="paving"))  # fmt: skip
    shown = text(client.get(page("run_levels", run)))
    for value in ("172", "300", "200", "2.5", "60"):
        assert f'value="{value}"' in shown


def test_all_walls_of_a_site_say_where_they_stand(client_for, applicator, run):
    client = client_for(applicator)
    client.post(page("run_levels", run), form())
    shown = text(client.get(page("levels", run.site)))
    assert "Treat up to the" in shown
    assert "Not measured" in shown


def test_a_removed_wall_has_no_levels(client_for, applicator, run):
    run.removed_at = run.site.created_at
    run.save()
    assert client_for(applicator).get(page("run_levels", run)).status_code == 404


def test_the_rule_values_show_their_sources(client_for, applicator):
    shown = text(client_for(applicator).get(reverse("office:rules")))
    assert "ABCB Housing Provisions 3.3.3(a), 2022" in shown
    assert "3.3.3(a), 2022 (read)" in shown
    assert "3.3.3(b)(iii), 2025 (quoted)" in shown
    assert "Source: this business&#x27;s own setting." in shown
    assert "NCC 2022 is in force" in shown
    assert "memory" not in shown.lower()


def test_an_owner_changes_a_rule_value_and_sees_what_is_out_of_range(client_for, applicator):
    client = client_for(applicator)
    wrong = client.post(
        reverse("office:rules"), {"line_above_ground_mm": "50", "drying_hours": "30"}
    )
    assert "50 mm is out of range. It can be from 75 mm to 300 mm." in text(wrong)
    assert 'value="30"' in text(wrong), "what was typed elsewhere stays"
    right = client.post(reverse("office:rules"), {"line_above_ground_mm": "100"}, follow=True)
    assert "Set by the business" in text(right)


def test_staff_read_rule_values_and_owners_change_them(client_for, db):
    client = client_for(make_applicator())
    shown = client.get(reverse("office:rules"))
    assert 'name="drying_hours"' not in text(shown)
    assert client.post(reverse("office:rules"), {"drying_hours": "48"}).status_code == 403


def untouched(client, run) -> dict:
    """What a browser sends of the wall's page when nobody changed anything on it."""
    entry = client.get(page("run_levels", run)).context["entry"]
    return filled_up(QueryDict(), entry.form, *entry.rows.values()).dict() | {"whole": "yes"}


def test_a_gauge_that_nobody_measured_is_not_stored(client_for, applicator, run):
    client = client_for(applicator)
    typed = {"bed_joint": "172", "ground-0-mm": "300", "ground-1-mm": "200"}
    client.post(page("run_levels", run), untouched(client, run) | typed)
    run.refresh_from_db()
    plain = run_facts(run)
    assert (plain.gauge, plain.brick_length_mm, plain.courses_treated) == (None, None, None)
    shown = text(client.get(page("run_levels", run)))
    used = "“Gauge not measured: 1 course in 86 mm is used, as the unit has it.”"
    assert f"If you leave it blank, the result says: {used}" in shown
    assert coursing_of(run, VALUES).measured is False


def test_a_gauge_from_a_photo_says_so_beside_its_fields_until_it_is_changed(
    client_for, applicator, run
):
    client, said = client_for(applicator), "From a photo of this wall: 12 courses in 1032 mm."
    run.levels = PlainRun("", "", 6000, gauge=Gauge(12, 1032, from_photo=True)).levels_as_dict()
    run.save()
    assert said in text(client.get(page("run_levels", run)))
    client.post(page("run_levels", run), untouched(client, run))
    assert said in text(client.get(page("run_levels", run)))
    client.post(page("run_levels", run), untouched(client, run) | {"gauge_height": "1031"})
    assert "From a photo" not in text(client.get(page("run_levels", run)))
    run.refresh_from_db()
    assert run_facts(run).gauge == Gauge(12, 1031)


def test_a_wall_does_not_lend_its_gauge_to_the_next(client_for, applicator, run):
    client = client_for(applicator)
    client.post(page("run_levels", run), form(gauge_courses="7", gauge_height="602"))
    east = run.site.wall_runs.get(label="East wall")
    sent = untouched(client, east)
    assert sent["bed_joint"] == "172"
    client.post(page("run_levels", east), sent | {"ground-0-mm": "300"})
    east.refresh_from_db()
    assert run_facts(east).bed_joint_mm == -172
    assert run_facts(east).gauge is None


def test_a_gauge_of_the_first_version_stays_in_doubt_until_somebody_measures(
    client_for, applicator, run
):
    client = client_for(applicator)
    client.post(page("run_levels", run), form())
    run.refresh_from_db()
    old = {key: value for key, value in run.levels.items() if key != "version"}
    run.levels = old | {"gauge": {"courses": 7, "height_mm": 600}}
    run.save()
    client.post(page("run_levels", run), untouched(client, run))
    run.refresh_from_db()
    assert run_facts(run).gauge == Gauge(7, 600, measured=None)
    shown = text(client.get(page("run_levels", run)))
    assert "7 courses in 600 mm, not known whether measured on this wall" in shown
    assert coursing_of(run, VALUES).measured is None
    client.post(
        page("run_levels", run),
        untouched(client, run) | {"gauge_courses": "7", "gauge_height": "600"},
    )
    run.refresh_from_db()
    assert run_facts(run).gauge == Gauge(7, 600)
    assert coursing_of(run, VALUES).measured is True


@pytest.mark.parametrize(
    ("gauge", "words"),
    [
        ({"courses": 7, "height_mm": 600, "measured": True}, "mm, measured on this wall."),
        (
            {"courses": 7, "height_mm": 600, "measured": None},
            "We do not know whether it was measured",
        ),
        (None, "the usual value, not measured on this wall"),
    ],
)
def test_the_photo_screen_says_whether_the_gauge_was_measured(
    client_for, applicator, run, gauge, words
):
    run.levels = {"version": 2, "gauge": gauge}
    run.save()
    item = make_item(applicator, make_draft(applicator, run.site), run=run)
    photo = item.photos.get()
    assert words in text(client_for(applicator).get(reverse("photos:measure", args=[photo.pk])))


def test_copied_walls_bring_no_gauge(applicator, run):
    run.levels = {"version": 2, "gauge": {"courses": 7, "height_mm": 602, "measured": True}}
    run.save()
    (first, *_) = copy_wall_runs(applicator, make_site(), run.site)
    assert run_facts(first).gauge is None


def test_a_band_is_not_called_right_while_nobody_saw_where_the_brickwork_starts(
    client_for, applicator, run
):
    client = client_for(applicator)
    client.post(page("run_levels", run), form())
    shown = text(client.get(page("run_levels", run)))
    assert "It meets the 75 mm rule, if the brickwork goes that far down." in shown
    assert "Where the brickwork starts was not entered for North wall." in shown
    client.post(page("run_levels", run), form(brick_bottom="600"))
    shown = text(client.get(page("run_levels", run)))
    assert "It meets the 75 mm rule." in shown
    assert "Where the brickwork starts" not in shown


def test_more_about_a_wall_is_kept_and_shown_again(client_for, applicator, run):
    client = client_for(applicator)
    more = {
        "unit": "own", "unit_height": "140", "unit_length": "300", "unit_joint": "12",
        "brick_bottom": "700", "perpend": "0.18", "raked": "6", "slab_down": "86",
        "openings-0-start": "1", "openings-0-end": "1.9", "openings-0-below": "no",
        "openings-0-threshold": "0", "openings-0-label": "door", "openings-TOTAL_FORMS": "1",
    }  # fmt: skip
    assert client.post(page("run_levels", run), form() | more).status_code == 302
    run.refresh_from_db()
    plain = run_facts(run)
    # all heights are from this wall's own slab, 86 mm under the main one
    assert (plain.slab_level_mm, plain.bed_joint_mm, plain.brick_bottom_mm) == (-86, -258, -786)
    assert plain.ground_today[0] == GroundPoint(0, -386)
    assert (plain.unit, plain.perpend, plain.raked_mm) == (Unit(140, 300, 12), Perpend(0, 180), 6)
    assert plain.openings == (Opening(1000, 1900, "door", -86, False),)
    shown = text(client.get(page("run_levels", run)))
    for value in ("140", "300", "12", "700", "0.18", "6", "86", "1.9"):
        assert f'value="{value}"' in shown


def test_a_unit_is_chosen_by_name_and_a_block_is_not_refused(client_for, applicator, run):
    client = client_for(applicator)
    typed = form(unit="190x390", gauge_courses="3", gauge_height="600")
    assert client.post(page("run_levels", run), typed).status_code == 302
    run.refresh_from_db()
    assert run_facts(run).unit == COMMON_BLOCK


def test_everything_that_the_levels_show_is_taken_over_in_one_tap(client_for, applicator, run):
    client = client_for(applicator)
    client.post(page("run_levels", run), form())
    levels = page("levels", run.site)
    shown = text(client.get(levels))
    assert "Add all" in shown or "Add the item" in shown
    taken = client.post(levels, follow=True)
    assert "added to the draft report" in text(taken)
    assert "Add a photo of each." in text(taken)
    assert DefectItem.objects.filter(kind="soil_against_brick").exists()
    assert "to the report</button>" not in text(client.get(levels))
