"""Forms sent before their page was there in full: nothing that is stored is lost."""

from dataclasses import replace

import pytest
from django.urls import reverse

from portal.requests.whole_form import NOT_WHOLE
from readiness.actions.sites.sites import set_levels
from readiness.facts import run_facts
from readiness.rules.band.geometry import (
    Attachment,
    FinishToCome,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    WeepHoles,
)
from tests.factories import make_runs, make_site
from tests.pages import fields_of

pytestmark = pytest.mark.django_db

MARK = "data-needs-whole"
EVERY = 701
"""Characters between the places where the page is cut: odd, so that they fall anywhere."""
FEW = slice(0, None, 5)
"""Every fifth of those places: the others are for the long tests."""


def cut_pages(page: str):
    """The page as far as it may be there when a button further up is pressed."""
    start, end = page.index(MARK), page.index("data-form-end")
    return [page[:place] for place in range(start + 200, end, EVERY)]


def sent(page, press, **typed):
    """What the browser sends of the page when this button is pressed."""
    return {**fields_of(page, MARK), **press, **typed}


@pytest.fixture
def walls(applicator):
    return make_runs(make_site(), "North wall", "East wall", "South wall")


PLACES = pytest.mark.parametrize(
    "long", [pytest.param(False, id="few"), pytest.param(True, id="others", marks=pytest.mark.long)]
)


def among(parts, long):
    """Of pages that were cut those of this run of the test."""
    few = parts[FEW]
    return [part for part in parts if part not in few] if long else few


@PLACES
@pytest.mark.parametrize("press", [{}, {"rearrange": "remove:0"}, {"rearrange": "add"}])
def test_walls_that_were_still_on_their_way_are_not_lost(
    client_for, applicator, walls, press, long
):
    client = client_for(applicator)
    address = reverse("office:walls", args=[walls[0].site_id])
    page = client.get(address).content.decode()
    for part in among(cut_pages(page), long):
        answer = client.post(address, sent(part, press))
        assert NOT_WHOLE in answer.content.decode()
        shown = fields_of(answer.content.decode(), MARK)
        assert [shown[f"wall-{n}-label"] for n in range(3)] == [run.label for run in walls]
    typed = sent(part, press) | {"wall-0-length": "7.5"}
    shown = fields_of(client.post(address, typed).content.decode(), MARK)
    assert client.post(address, shown).status_code == 302
    kept = list(walls[0].site.wall_runs.filter(removed_at=None).values_list("pk", "length_mm"))
    assert kept == [(walls[0].pk, 7_500), (walls[1].pk, 12_000), (walls[2].pk, 12_000)]


@pytest.fixture
def measured(applicator, walls):
    """A wall on which there is something to lose in every part of the page."""
    run = walls[0]
    plain = replace(
        run_facts(run),
        bed_joint_mm=-172,
        gauge=Gauge(7, 602),
        ground_today=(GroundPoint(0, -300), GroundPoint(6_000, -280), GroundPoint(12_000, -260)),
        ground_finished=(GroundPoint(0, -290), GroundPoint(12_000, -250)),
        finishes_to_come=(FinishToCome(1_000, 3_000, 60, "paving"),),
        joints=(Joint(3_000, 10, 110, None, "articulation"), Joint(9_000, 12, 90, 500, "crack")),
        attachments=(Attachment(5_000, 40, "Tank stand"),),
        openings=(Opening(7_000, 8_600, "Sliding door"),),
        weep_holes=(WeepHoles(0, 1_200), WeepHoles(-86, 960)),
        surface="sandy",
        fall_mm=25,
        courses_treated=3,
        brick_length_mm=290,
    )
    set_levels(applicator, run, plain.levels_as_dict())
    run.refresh_from_db()
    return run


PRESSES = [{}, {"next": "1"}, {"more": "weeps"}, {"remove": "weeps-0"}]


@PLACES
@pytest.mark.parametrize("turn", range(len(PRESSES)))
def test_levels_that_were_still_on_their_way_are_not_lost(
    client_for, applicator, measured, turn, long
):
    """The buttons take turns along the page: it is cut at each place under one of them."""
    press = PRESSES[turn]
    client = client_for(applicator)
    address = reverse("office:run_levels", args=[measured.pk])
    page = client.get(address).content.decode()
    whole = fields_of(page, MARK)
    before = measured.levels
    for part in among(cut_pages(page)[turn :: len(PRESSES)], long):
        answer = client.post(address, sent(part, press)).content.decode()
        assert NOT_WHOLE in answer
        assert "ManagementForm" not in answer
        assert fields_of(answer, MARK) == whole
    measured.refresh_from_db()
    assert measured.levels == before
    typed = sent(part, press) | {"ground-0-mm": "310"}
    shown = fields_of(client.post(address, typed).content.decode(), MARK)
    assert client.post(address, shown).status_code == 302
    measured.refresh_from_db()
    assert run_facts(measured).ground_today[0] == GroundPoint(0, -310)
    assert {**measured.levels, "ground_today": None} == {**before, "ground_today": None}
