"""The measuring screen over HTTP: what it shows, asks for and answers."""

import io
import json
import uuid

import pytest
from django.urls import reverse

from readiness.actions.photos.keeping import add_photo
from readiness.models import Business, PhotoMeasurement
from readiness.photos import found_joints
from readiness.photos.found_joints import NotNow
from readiness.photos.limits import LIMITS
from tests.factories import make_runs, make_site
from tests.photos.of_walls import gauge_marks, length_marks, photo_bytes

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(builder):
    found = make_site(builder)
    make_runs(found, "North wall", "East wall")
    make_runs(found, "Porch", finish="render")
    return found


@pytest.fixture
def photo(applicator, site):
    return add_photo(applicator, site, io.BytesIO(photo_bytes()), filename="north.jpg")


@pytest.fixture
def ask(client_for, applicator, photo):
    """Send marks as the page does; the answer's status and JSON."""

    def send(data, **more):
        answer = client_for(applicator).post(
            reverse("photos:measure", args=[photo.pk]),
            json.dumps(data | more),
            content_type="application/json",
        )
        return answer.status_code, answer.json()

    return send


def page_of(client_for, applicator, photo) -> str:
    return client_for(applicator).get(reverse("photos:measure", args=[photo.pk])).content.decode()


def test_no_direction_is_chosen_beforehand(client_for, applicator, photo):
    page = page_of(client_for, applicator, photo)
    for way in ("straight", "upright", "level"):
        (field,) = [part for part in page.split("<input") if f'value="{way}"' in part]
        assert "checked" not in field.split(">")[0]


def test_a_gauge_can_be_taken_for_brick_walls_only(client_for, applicator, photo):
    page = page_of(client_for, applicator, photo)
    choices = page.split('name="gauge_of"')[1].split("</select>")[0]
    assert "North wall" in choices
    assert "East wall" in choices
    assert "Porch" not in choices


def test_a_gauge_is_answered_with_what_it_rests_on_and_the_joints_that_were_found(ask):
    status, answer = ask(gauge_marks())
    assert status == 200
    assert answer["decides"]
    assert answer["sentence"].startswith("One course: 8")
    assert "It rests on the 1000 mm between your two ends" in answer["rests_on"]
    assert len(answer["lines"]) == 13
    assert not PhotoMeasurement.objects.exists()


def test_a_gauge_by_quick_taps_says_what_to_do(ask):
    _status, answer = ask(gauge_marks(zoom=1.0))
    assert not answer["decides"]
    assert "zoom in for its ends" in answer["sentence"]


def test_a_gauge_is_saved_for_a_wall_once(ask, site):
    wall = site.wall_runs.get(label="North wall")
    saving = {"save": True, "id": str(uuid.uuid4()), "gauge_of": str(wall.pk)}
    for _again in range(2):
        status, answer = ask(gauge_marks(), **saving)
        assert (status, answer["saved"]) == (200, saving["id"])
    wall.refresh_from_db()
    assert wall.levels["gauge"]["from_photo"]
    assert PhotoMeasurement.objects.count() == 1


def test_a_wall_of_another_site_is_not_there(client_for, applicator, photo, builder):
    (other,) = make_runs(make_site(builder), "Elsewhere")
    body = json.dumps(gauge_marks() | {"save": True, "gauge_of": str(other.pk)})
    address = reverse("photos:measure", args=[photo.pk])
    answer = client_for(applicator).post(address, body, content_type="application/json")
    assert answer.status_code == 404
    other.refresh_from_db()
    assert not other.levels


def test_a_photo_that_can_not_be_looked_at_now_is_tried_again(ask, monkeypatch):
    def busy(*_args, **_options):
        raise NotNow

    monkeypatch.setattr(found_joints, "look", busy)
    assert ask(gauge_marks())[0] == 503


def test_open_joints_are_an_experiment_that_is_off(client_for, applicator, photo, ask):
    assert "data-open-joints" not in page_of(client_for, applicator, photo)
    assert ask(length_marks())[1]["outlines"] == []


def test_open_joints_are_outlined_where_the_business_turned_it_on(
    client_for, applicator, photo, ask
):
    Business.current()
    Business.objects.update(outlines_open_joints=True)
    page = page_of(client_for, applicator, photo)
    assert "Joints that look open (experiment)" in page
    (outline,) = ask(length_marks())[1]["outlines"]
    assert len(outline) == 4


def test_looking_for_joints_keeps_the_limits_of_decoding():
    assert (LIMITS.seconds, LIMITS.memory_bytes) == (20, 1024 * 1024 * 1024)
