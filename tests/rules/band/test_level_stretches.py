"""The cheapest line with stretches that are long enough, against trying every line there is."""

from itertools import pairwise, product

from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.rules.band.bond import cells_of
from readiness.rules.band.level_stretches import cheapest, stretches
from readiness.rules.band.wall import Finish, Opening, Perpend, Unit, Wall

UNIT = Unit(76, 230)


@st.composite
def small_walls(draw):
    """A few half bricks, sometimes with an opening, and a wish and a cap for each cell."""
    length = draw(st.integers(3, 7)) * 120 + draw(st.integers(0, 119))
    gap = draw(st.sampled_from([None, (130, 250), (240, 300), (0, 70)]))
    openings = (Opening(*gap, wall_below=False),) if gap else ()
    perpend = Perpend(draw(st.integers(0, 1)), draw(st.integers(0, 239)))
    wall = Wall("A", length, Finish.FACE_BRICK, UNIT, perpend=perpend, openings=openings)
    cells = cells_of(wall, UNIT)
    count = len(cells)
    wanted = draw(st.lists(st.integers(0, 2), min_size=count, max_size=count))
    caps = draw(st.lists(st.sampled_from([None, None, 0, 1]), min_size=count, max_size=count))
    return cells, wanted, caps


def step_is_allowed(cells, edge, before, after):
    odd = cells.crossing[edge]
    if odd is not None:
        return abs(before - after) == 1 and min(before, after) % 2 == odd
    gaps = set(cells.gaps())
    return after > before if edge in gaps else before > after


def cost(cells, wanted, caps, levels, shortest, fewest):
    """None for a line that is not allowed."""
    gaps, edges = set(cells.gaps()), cells.edges
    found = stretches(levels)
    for cell, level in enumerate(levels):
        if cell not in gaps and caps[cell] is not None and level > caps[cell]:
            return None
    for before, after in pairwise(found):
        if not step_is_allowed(cells, after[0], before[2], after[2]):
            return None
    for place, (first, after, level) in enumerate(found):
        if edges[after] - edges[first] >= 2 * shortest or len(found) == 1:
            continue
        whole = cells.crossing[first] is not None and cells.crossing[after] is not None
        if not (after - first == 1 and whole and 0 < place < len(found) - 1):
            return None
        if (found[place - 1][2] < level) != (level < found[place + 1][2]):
            return None
    width = [0 if cell in gaps else edges[cell + 1] - edges[cell] for cell in range(len(levels))]
    given_up = sum(w * max(0, want - at) for w, want, at in zip(width, wanted, levels, strict=True))
    area = sum(w * level for w, level in zip(width, levels, strict=True))
    return (given_up, len(found), area) if fewest else (given_up, area, len(found))


@settings(max_examples=50)
@given(small_walls(), st.sampled_from([0, 100, 120, 240, 300, 500]), st.booleans())
def test_no_line_is_cheaper(case, shortest, fewest):
    cells, wanted, caps = case
    levels = cheapest(wanted, caps, cells, shortest, fewest)
    own = cost(cells, wanted, caps, levels, shortest, fewest)
    every = (
        cost(cells, wanted, caps, line, shortest, fewest)
        for line in product(range(3), repeat=len(cells))
    )
    assert own == min(found for found in every if found is not None)
