"""A paper is made once: what can not be read just now must not be missing from it for good."""

from datetime import timedelta

import pytest
from django.core.files.storage import storages

from readiness import clock
from readiness.actions.tasks import make_paper
from readiness.models import Paper
from readiness.photos import sizes
from readiness.photos.sizes import SizesError
from tests.papers import reports

MISSING = "This photo can't be shown"


@pytest.fixture
def paper(db) -> Paper:
    return reports.issue(items=2, walls=2).papers.get(kind=Paper.Kind.PHOTO_RECORD)


def make(paper: Paper, monkeypatch, error: Exception | None = None) -> Paper:
    """One try at its time, with what reading a photo comes to."""

    def fails(*args, **kwargs):
        raise error

    with monkeypatch.context() as patch, clock.at(paper.next_try_at):
        if error is not None:
            patch.setattr(sizes, "ready_name", fails)
        make_paper.call(str(paper.pk))
    paper.refresh_from_db()
    return paper


def text_of(paper: Paper) -> str:
    with storages["papers"].open(paper.storage_name) as stored:
        return " ".join(reports.text_of(stored.read()).split()).replace("’", "'")


def test_photos_that_can_t_be_read_just_now_are_waited_for(paper, monkeypatch):
    """The paper used to be made without them, and kept so."""
    for _ in range(5):
        assert make(paper, monkeypatch, SizesError("away", passing=True)).state == "queued"
    assert paper.next_try_at - paper.started_at == timedelta(hours=6), "as long as any outage"
    assert make(paper, monkeypatch).state == "made"
    assert MISSING not in text_of(paper)


def test_a_photo_that_is_broken_for_good_does_not_hold_its_paper(paper, monkeypatch):
    assert make(paper, monkeypatch, SizesError("half a file")).state == "made"
    assert MISSING in text_of(paper)
