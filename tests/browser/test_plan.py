"""The plan in a real browser: words take no more room than the drawing reckoned with."""

import pytest

from readiness.papers.drawings.plan import plan_svg
from readiness.rules.band.geometry import WallRun

AIR = 2
"""A browser's line is higher than its letters: so many px above and below don't matter."""

MEASURE = """() => [...document.querySelectorAll('.plan-label')].map(label => {
  const texts = [...label.querySelectorAll('text')].map(text => text.getBoundingClientRect());
  return {
    turned: !!label.querySelector('[transform]'),
    box: label.dataset.box.split(' ').map(Number),
    left: Math.min(...texts.map(t => t.left)), right: Math.max(...texts.map(t => t.right)),
    top: Math.min(...texts.map(t => t.top)), bottom: Math.max(...texts.map(t => t.bottom)),
  };
})"""
PORCH_HOUSE = [
    ("Front, bedrooms", 4_800, 90),
    ("Porch, left side", 1_200, -90),
    ("Porch, back", 3_000, -90),
    ("Porch, right side", 1_200, 90),
    ("Front, garage", 5_800, 90),
    ("Garage side", 9_600, 90),
    ("Behind garage", 5_900, -90),
    ("Living, side", 6_200, 90),
    ("Living, back", 7_700, 90),
    ("Tap side", 15_800, 90),
]


@pytest.mark.parametrize("family", ["", "DejaVu Sans", "Inter"])
@pytest.mark.parametrize("width", [350, 600])
def test_words_stay_in_the_room_reckoned_for_them(chromium, family, width):
    runs = [WallRun(str(n), *wall[:2], turn_degrees=wall[2]) for n, wall in enumerate(PORCH_HOUSE)]
    page = chromium.new_page(viewport={"width": width, "height": 900})
    drawn = plan_svg(runs, width=width, most_height=300)
    if family:
        drawn = drawn.replace("Inter, &#x27;DejaVu Sans&#x27;", f"&#x27;{family}&#x27;")
        assert f"{family}&#x27;, Arial" in drawn
    page.set_content(f"<style>body{{margin:0}}svg{{width:{width}px;display:block}}</style>{drawn}")
    found = page.evaluate(MEASURE)
    page.close()
    assert len(found) == len(runs)
    for label in found:
        left, top, right, bottom = label["box"]
        along, across = (AIR, 0.5) if label["turned"] else (0.5, AIR)
        assert left - along <= label["left"]
        assert label["right"] <= right + along
        assert top - across <= label["top"]
        assert label["bottom"] <= bottom + across
