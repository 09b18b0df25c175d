"""What a wall's levels page shows, sent back unchanged, is what was stored."""

from dataclasses import replace
from uuid import uuid4

from django.http import QueryDict
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.office.levels.answer import answer_of
from portal.office.levels.entry import LevelsEntry
from portal.requests.whole_form import filled_up
from readiness.models import WallRun
from readiness.rules.band.geometry import (
    Attachment,
    FinishToCome,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    StruckStep,
    WeepHoles,
)
from readiness.rules.band.geometry import WallRun as PlainRun
from tests.rules.walls import VALUES

LENGTH_MM = 6000
distances = st.integers(0, LENGTH_MM)
levels = st.integers(-600, 600)


def in_order(made):
    """Rows along the wall, each at a distance of its own."""
    return (
        st.lists(distances, unique=True, max_size=5)
        .map(sorted)
        .flatmap(
            lambda places: st.tuples(*[levels.map(lambda mm, at=at: made(at, mm)) for at in places])
        )
    )


def rows(made, *parts):
    return st.lists(st.builds(made, *parts), max_size=3).map(tuple)


plain_runs = st.builds(
    PlainRun,
    id=st.just(str(uuid4())),
    label=st.just("North wall"),
    length_mm=st.just(LENGTH_MM),
    gauge=st.builds(
        Gauge, st.integers(1, 20), st.integers(60, 2000), st.just(True), st.booleans()
    ),
    bed_joint_mm=st.none() | st.integers(-900, -600),
    brick_length_mm=st.integers(90, 400),
    ground_today=in_order(GroundPoint),
    ground_finished=st.none() | in_order(GroundPoint).filter(bool),
    finishes_to_come=rows(
        FinishToCome, distances, distances, st.integers(1, 300), st.sampled_from(["soil", "paving"])
    ),
    joints=rows(
        Joint, distances, st.integers(1, 60), st.integers(1, 200), st.none() | st.integers(1, 900),
        st.sampled_from(["articulation", "crack"]),
    ),
    attachments=rows(Attachment, distances, st.integers(0, 500), st.sampled_from(["", "Deck"])),
    openings=rows(Opening, distances, distances, st.sampled_from(["", "Door"])),
    weep_holes=rows(
        WeepHoles, levels, st.none() | st.integers(100, 2000),
        st.lists(distances, max_size=6).map(tuple), distances, st.none() | distances,
    ),
    surface=st.sampled_from(["soil", "sandy", "paving"]),
    courses_treated=st.integers(1, 9),
    fall_mm=st.none() | st.integers(-100, 300),
)  # fmt: skip


def sent_back(entry: LevelsEntry) -> dict:
    """Every field of the page with the value that it shows."""
    return filled_up(QueryDict(), entry.form, *entry.rows.values()).dict()


def stored(run: PlainRun) -> WallRun:
    return WallRun(
        label=run.label, length_mm=run.length_mm, finish=run.finish, levels=run.levels_as_dict()
    )


@settings(deadline=None)
@given(plain_runs)
def test_a_brick_walls_levels_survive_the_page(run):
    wall = stored(run)
    entry = LevelsEntry(wall, VALUES, sent_back(LevelsEntry(wall, VALUES)))
    assert entry.is_valid(), (entry.form.errors, [r.errors for r in entry.rows.values()])
    assert entry.run.levels_as_dict() == run.levels_as_dict()


@settings(deadline=None)
@given(plain_runs, in_order(StruckStep), st.none() | levels)
def test_a_rendered_walls_levels_survive_the_page(run, steps, struck_mm):
    run = replace(
        run, finish="render", bed_joint_mm=None, struck_steps=steps, struck_joint_mm=struck_mm
    )
    wall = stored(run)
    entry = LevelsEntry(wall, VALUES, sent_back(LevelsEntry(wall, VALUES)))
    assert entry.is_valid()
    assert entry.run.levels_as_dict() == run.levels_as_dict()


def test_another_wall_only_fills_in_one_that_was_never_measured():
    like = stored(PlainRun("a", "North wall", LENGTH_MM, bed_joint_mm=-172))
    fresh = LevelsEntry(WallRun(label="x", length_mm=500, finish="face_brick"), VALUES, like=like)
    assert fresh.form.initial["bed_joint"] == 172
    assert answer_of(fresh.run, VALUES).sentence == (
        "Still to measure: at least one point of the ground."
    )
    measured = stored(PlainRun("b", "East wall", LENGTH_MM, bed_joint_mm=-258))
    assert LevelsEntry(measured, VALUES, like=like).form.initial["bed_joint"] == 258


typed = st.sampled_from(
    ["", "0", "-1", "3", "2.5", "12 m", "300", "99999999999999999999", "1e9", "٣", "½", "∞", "nan",
     "<b>", "'; --", "0.0001", "-0", "6.000", " 250 mm "]
) | st.text(max_size=8)  # fmt: skip


@settings(deadline=None)
@given(st.data(), st.sampled_from(["face_brick", "render"]))
def test_nothing_that_can_be_typed_breaks_the_answer(data, finish):
    wall = WallRun(label="North wall", length_mm=LENGTH_MM, finish=finish)
    blank = sent_back(LevelsEntry(wall, VALUES))
    names = data.draw(st.lists(st.sampled_from(sorted(blank)), unique=True))
    posted = blank | {name: data.draw(typed) for name in names}
    entry = LevelsEntry(wall, VALUES, posted)
    answer = answer_of(entry.run, VALUES, typed_problems=entry.problems)
    assert answer.sentence
    assert entry.is_valid() in (True, False)


def test_another_gauge_typed_over_one_from_a_photo_is_the_tapes():
    run = PlainRun("north", "North wall", LENGTH_MM, gauge=Gauge(12, 1032, from_photo=True))
    wall = stored(run)
    typed = sent_back(LevelsEntry(wall, VALUES)) | {"gauge_courses": "7", "gauge_height": "602"}
    assert LevelsEntry(wall, VALUES, typed).run.gauge == Gauge(7, 602)
