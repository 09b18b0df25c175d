"""Three walls worked out on paper, then typed as a technician would: the page says the same.

Each wall's working stands with its numbers. Standard brick, 86 mm a course; rule values as they
come: 75 mm clearance, two courses, readings good to 3 mm (common practice, no source).
"""

import html
import re

import pytest

from tests.factories import make_applicator, make_runs, make_site
from tests.portal.office.test_levels import form, page, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def enter(client_for):
    """Types a wall of 6 m, and gives what its page then says in words."""
    actor = make_applicator()
    client, site = client_for(actor), make_site()

    def typed(finish="face_brick", **fields):
        (run,) = make_runs(site, "Worked wall", length_mm=6000, finish=finish)
        sent = client.post(page("run_levels", run), form(**fields))
        assert sent.status_code == 302, text(sent)
        shown = re.sub(r"<[^>]+>", " ", text(client.get(page("run_levels", run))))
        return re.sub(r"\s+", " ", html.unescape(shown)), text(client.get(page("quantities", site)))

    return typed


def test_a_sloping_site_with_paving_to_come(enter):
    """Joint 0 at -86. Ground rises 20 mm a metre from -170; 60 mm of paving from 4 m on.

    Joint 0 serves while ground is at most -161 (to 0.45 m; last perpend 0.24 m), joint 1 while
    finished ground is at most -75 (to 4 m, where the paving begins; last perpend 3.96 m), then
    joint 2. Two courses under each: -258, -172, and from 4.2 m on -86. Soil: at 0.24 m the ground
    is at -165.2, 92.8 over -258; at 4.2 m at -86, 86 over -172. 64 640 mm2 x 150 mm = 9.7 L and
    127 300 mm2 x 150 mm = 19.1 L. Litres: (0.24 x 2 + 2.82 x 2 + 0.24 x 3 + 1.8 x 2) / 20 = 0.52.
    """
    said, quantities = enter(
        bed_joint="86", ground__0__mm="170", ground__1__mm="50", perpend="0", brick_bottom="500",
        finishes__0__start="4", finishes__0__end="6", finishes__0__thickness="60",
        finishes__0__surface="paving", openings__0__start="2", openings__0__end="2.9",
        openings__0__threshold="0", openings__0__below="no",
    )  # fmt: skip
    assert (
        "Treat up to the measured bed joint, 86 mm below the top of the slab, with 2 steps. "
        "Down to 258 mm below the top of the slab: 2 to 3 courses." in said
    )
    assert "It meets the 75 mm rule." in said
    assert "Clear soil 93 mm deep along 2 m (about 0.01 m³), from 0 m to 2 m." in said
    assert "Clear soil 86 mm deep along 3.1 m (about 0.02 m³), from 2.9 m to 6 m." in said
    for place, joint in (
        ("From 0 m to 0.24 m", "the measured bed joint, 86 mm below the top of the slab"),
        ("From 2.9 m to 3.96 m", "the 1st bed joint above the measured one, level with the top"),
        ("From 3.96 m to 6 m", "the 2nd bed joint above the measured one, 86 mm above the top"),
    ):
        assert f"{place}: {joint}" in said
    assert "0.52" in quantities


def test_a_garage_with_a_stepped_slab_and_a_door(enter):
    """The garage's slab is 172 lower, and all is measured from it: joint 86 down, ground 100 down.

    Ground -100: the line at -25 or higher is joint 1 (0, level with this slab); two courses under
    it: -172, 72 mm under the ground. Door from 1 m to 3.4 m without wall: 3.6 m are treated, 0.36 L
    by 1 L per 10 m. 72 x 1000 x 150 mm = 10.8 L and 72 x 2600 x 150 mm = 28.1 L of soil. Nobody
    saw where the brickwork starts.
    """
    said, quantities = enter(
        bed_joint="86", ground__0__mm="100", ground__1__mm="100", slab_down="172",
        openings__0__start="1", openings__0__end="3.4", openings__0__below="no",
    )  # fmt: skip
    assert (
        "Treat up to the 1st bed joint above the measured one, level with the top of the slab, "
        "level all along. Down to 172 mm below the top of the slab: 2 courses." in said
    )
    assert "It meets the 75 mm rule, if the brickwork goes that far down." in said
    assert "Clear soil 72 mm deep along 1 m (about 0.02 m³), from 0 m to 1 m." in said
    assert "Clear soil 72 mm deep along 2.6 m (about 0.03 m³), from 3.4 m to 6 m." in said
    assert "0.36" in quantities


def test_a_rendered_porch_that_meets_brick(client_for):
    """Brick: joint -172, ground -362 and 100 of topsoil to come, so -262: the line is joint 0
    (-172), the bottom -344. Porch: struck at -110 over -250 and 60 of tiles, so -190: 80 clear, and
    the band goes down to -190. They overlap by 18 mm (-172 to -190), 75 are asked for on render: at
    the corner the porch is treated down to -247 for one brick and its joint.
    """
    client, site = client_for(make_applicator()), make_site()
    brick, porch = make_runs(site, "Front", "Porch", length_mm=6000)
    porch.finish = "render"
    porch.save(update_fields=["finish"])
    client.post(
        page("run_levels", brick),
        form(bed_joint="172", ground__0__mm="362", ground__1__mm="362", brick_bottom="430",
             finishes__0__start="0", finishes__0__end="6", finishes__0__thickness="100",
             finishes__0__surface="lawn"),
    )  # fmt: skip
    typed = form(
        struck_joint="110", struck_from="slab", ground__0__mm="250", ground__1__mm="250",
        finishes__0__start="0", finishes__0__end="6", finishes__0__thickness="60",
        finishes__0__surface="paving",
    )  # fmt: skip
    client.post(page("run_levels", porch), typed)
    brick_said, porch_said = (
        re.sub(r"<[^>]+>", " ", text(client.get(page("run_levels", run)))) for run in (brick, porch)
    )
    assert "Down to 344 mm below the top of the slab: 2 courses." in brick_said
    assert "up to 18 mm of untreated brick stays open until the lawn or topsoil is laid" in (
        brick_said
    )
    assert "Treat up to the struck joint, 110 mm below the top of the slab" in porch_said
    assert "Down to 247 mm below the top of the slab." in porch_said
    assert "It is closest to finished ground at 0 m: 80 mm." in porch_said


def test_the_technician_is_told_what_the_tape_cannot_settle(enter):
    """Ground -161: joint 1 (-86) is 75 over it, and 3 mm more would ask for joint 2 all along.

    Brick that starts 200 down ends above the bottom that joint 2 asks for (-172 is two under 0).
    """
    said, _ = enter(
        bed_joint="172", ground__0__mm="161", ground__1__mm="161", brick_bottom="100",
    )  # fmt: skip
    assert "To decide" in said
    assert "the answer changes within the tape's error (3 mm). Measure again, or decide." in said
    assert "the brickwork ends 100 mm below the top of the slab" in said
