"""A gauge measured on a photo: kept with it, and taken for a wall where it is sure enough."""

import io

import pytest

from readiness.actions.errors import Refused
from readiness.actions.photos.keeping import add_photo, save_measurement
from readiness.facts import rule_values, run_facts
from readiness.models import PhotoMeasurement, RecordEntry
from readiness.photos import decoder, found_joints
from readiness.photos.found_joints import NotNow
from readiness.photos.measurements import work_out
from readiness.photos.measuring import CannotMeasure
from readiness.wording.levels import gauge_doubts
from tests.factories import make_runs, make_site
from tests.photos.of_walls import gauge_marks, length_marks, photo_bytes
from tests.recorded import broken

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(builder):
    return make_site(builder)


@pytest.fixture
def photo(applicator, site):
    return add_photo(applicator, site, io.BytesIO(photo_bytes()), filename="north.jpg")


def test_a_gauge_becomes_the_walls_own_marked_as_from_a_photo(applicator, site, photo):
    north, *_others = make_runs(site)
    kept = save_measurement(applicator, photo, gauge_marks(), gauge_of=north)
    # Drawn with 86 mm a course: 12 of them are 1032 mm.
    assert kept.value_mm == pytest.approx(1032, abs=6)
    assert kept.uncertainty_mm < 12
    assert kept.reference == (
        "height of 12 courses, joints found in the photo; known length 1000 mm, give or take 1"
    )
    north.refresh_from_db()
    assert north.levels["gauge"] == {
        "courses": 12,
        "height_mm": kept.value_mm,
        "measured": True,
        "from_photo": True,
    }
    (said,) = gauge_doubts(run_facts(north).gauge)
    assert said == f"Gauge from a photo: 12 courses in {kept.value_mm} mm."
    verbs = RecordEntry.objects.filter(site=site).values_list("verb", flat=True)
    assert list(verbs)[-2:] == ["photo_measured", "levels_changed"]
    assert not broken(site)


def test_what_else_was_measured_on_the_wall_stays(applicator, site, photo):
    north, *_others = make_runs(site)
    north.levels = {"version": 2, "first_bed_joint_mm": -172, "surface": "paving"}
    north.save()
    save_measurement(applicator, photo, gauge_marks(), gauge_of=north)
    north.refresh_from_db()
    assert run_facts(north).bed_joint_mm == -172
    assert run_facts(north).surface == "paving"


def test_without_a_wall_it_is_kept_with_the_photo(applicator, site, photo):
    runs = make_runs(site)
    save_measurement(applicator, photo, gauge_marks())
    assert PhotoMeasurement.objects.get().marks["wanted"] == "gauge"
    assert all(not run.levels for run in runs)


def test_a_gauge_that_is_not_sure_enough_is_not_taken_and_nothing_is_kept(applicator, site, photo):
    north, *_others = make_runs(site)
    with pytest.raises(Refused, match="better than 1 mm a course"):
        save_measurement(applicator, photo, gauge_marks(zoom=1.0), gauge_of=north)
    north.refresh_from_db()
    assert not north.levels
    assert not PhotoMeasurement.objects.exists()


def test_a_rendered_wall_or_one_of_another_site_takes_no_gauge(applicator, builder, site, photo):
    rendered = make_runs(site, "Porch", finish="render")[0]
    elsewhere = make_runs(make_site(builder))[0]
    for wall in (rendered, elsewhere):
        with pytest.raises(Refused, match="brick wall of this site"):
            save_measurement(applicator, photo, gauge_marks(), gauge_of=wall)


def test_a_distance_is_no_gauge(applicator, site, photo):
    north, *_others = make_runs(site)
    with pytest.raises(Refused, match="not sure enough"):
        save_measurement(applicator, photo, length_marks(), gauge_of=north)


def test_a_gauge_that_no_brick_has_is_refused(applicator, site, photo):
    north, *_others = make_runs(site)
    with pytest.raises(Refused, match="gauge"):
        save_measurement(applicator, photo, gauge_marks(known_mm=2000), gauge_of=north)


def test_a_length_by_many_courses(photo):
    result = work_out(photo, length_marks(), rule_values())
    # A metre by the usual gauge of 600 mm over 7 courses: 1000 / 86 x 85.714 = 996.7.
    assert result.measured.value_mm == pytest.approx(997, abs=6)
    assert result.reference == "12 courses of 86.0 mm, joints found in the photo"
    assert len(result.lines) == 13


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        (gauge_marks(courses=5), "from 6 to 20"),
        (gauge_marks(courses=21), "from 6 to 20"),
        (gauge_marks(courses=11), "The photo shows 12"),
        (gauge_marks(known_mm=None), "known length"),
        (gauge_marks(known_mm=0), "known length"),
        (gauge_marks(known_mm="a metre"), "known length"),
        (gauge_marks(known_mm=3), "not known well enough"),
        (gauge_marks() | {"known": None}, "known length"),
        (gauge_marks() | {"reference": {"kind": "brick"}}, "four corners on bed joints"),
        (length_marks(""), "straight, upright"),
    ],
)
def test_what_is_missing_is_said(photo, marks, words):
    with pytest.raises(CannotMeasure, match=words):
        work_out(photo, marks, rule_values())


@pytest.mark.parametrize(("problem", "raised"), [("busy", NotNow), ("broken", CannotMeasure)])
def test_a_busy_decoder_is_tried_again_and_a_broken_photo_is_not(
    photo, monkeypatch, problem, raised
):
    def fails(*_args, **_options):
        raise decoder.DecodingError(problem)

    monkeypatch.setattr(found_joints.decoder, "joints", fails)
    with pytest.raises(raised):
        work_out(photo, gauge_marks(), rule_values())


def test_joints_that_look_open_are_outlined_only_where_that_is_asked_for(photo):
    assert work_out(photo, length_marks(), rule_values()).outlines == []
    (outline,) = work_out(photo, length_marks(), rule_values(), open_too=True).outlines
    # The open perpend is at 1200 mm, in the course under joint 13.
    x = sum(place[0] for place in outline) / 4
    assert x == pytest.approx((800 + (1200 - 1300) * 0.6) / 1600, abs=0.005)
