"""A plan that is kept shows what it was asked for: whatever changes on it makes another one."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.plan import MOST_HEIGHT, WIDTH, _drawn
from readiness.papers.drawings.elevation import ItemMark
from readiness.papers.drawings.lean import lean
from readiness.papers.drawings.plan import plan_svg
from readiness.rules.band.geometry import WallRun
from readiness.rules.vocabulary import Readiness
from readiness.wording.states import status_words

STATUSES = st.sampled_from([Readiness.READY, Readiness.NOT_READY, Readiness.NOT_KNOWN])


@st.composite
def asked(draw):
    """What a page asks for, as `_drawn` takes it."""
    lengths = draw(st.lists(st.integers(600, 20_000), min_size=1, max_size=8))
    runs = tuple(
        WallRun(f"run-{n}", f"Wall {n}", length, turn_degrees=draw(st.sampled_from([90, -90])))
        for n, length in enumerate(lengths)
    )
    items = tuple(
        ItemMark(n, draw(st.integers(0, 500)), None, draw(st.sampled_from(runs)).id)
        for n in range(1, draw(st.integers(0, 6)) + 1)
    )
    return {
        "runs": runs,
        "items": items,
        "links": tuple((run.id, f"/walls/{run.id}/") for run in runs),
        "status": tuple((run.id, draw(STATUSES)) for run in runs),
        "status_words": tuple(status_words().items()),
        "listing": True,
        "title": "Plan of the walls",
    }


def afresh(asked):
    return plan_svg(
        asked["runs"],
        items=asked["items"],
        links=dict(asked["links"]) if asked["links"] is not None else None,
        status=dict(asked["status"]),
        status_words=dict(asked["status_words"]),
        width=WIDTH,
        most_height=MOST_HEIGHT,
        listing=None if asked["listing"] else (),
        title=asked["title"],
    )


def changes(asked):
    """The same with one thing changed: each thing that can be given, in turn."""
    first, *others = asked["runs"]
    for part in (
        {"label": "Another name"},
        {"length_mm": first.length_mm + 1_000},
        {"turn_degrees": -first.turn_degrees},
    ):
        yield {**asked, "runs": (replace(first, **part), *others)}
    mark = ItemMark(77, 100, 200, first.id)
    yield {**asked, "items": (*asked["items"], mark)}
    for n, other in enumerate(asked["items"]):
        moved = replace(other, number=other.number + 50)
        yield {**asked, "items": (*asked["items"][:n], moved, *asked["items"][n + 1 :])}
    yield {**asked, "links": None}
    yield {**asked, "links": ((first.id, "/elsewhere/"), *asked["links"][1:])}
    found = asked["status"][0][1]
    other = Readiness.NOT_READY if found != Readiness.NOT_READY else Readiness.READY
    yield {**asked, "status": ((first.id, other), *asked["status"][1:])}
    yield {**asked, "status": ()}
    words = {**dict(asked["status_words"]), found: "In other words"}
    yield {**asked, "status_words": tuple(words.items())}
    yield {**asked, "title": "Another title"}


@pytest.mark.parametrize("examples", [5, pytest.param(20, marks=pytest.mark.long)])
def test_whatever_changes_on_a_plan_makes_another_one_and_what_is_kept_is_what_is_drawn(examples):
    @settings(max_examples=examples)
    @given(asked())
    def holds(asked):
        before = lean(afresh(asked))
        assert _drawn(**asked).svg == _drawn(**asked).svg == before
        for changed in changes(asked):
            now = lean(afresh(changed))
            assert _drawn(**changed).svg == now
            # A single wall has no corner that its turn could change.
            if len(asked["runs"]) > 1 or changed["runs"] == asked["runs"]:
                assert now != before

    holds()
