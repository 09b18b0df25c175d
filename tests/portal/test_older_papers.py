"""A photo that was blurred late: which papers still show it whole."""

from datetime import timedelta

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.papers import new_edition
from readiness.actions.photos import save_markup
from readiness.models import Paper
from tests.factories import make_contact, make_issued

BLUR = {"kind": "blur", "box": [0.25, 0.25, 0.5, 0.5]}


def mark_made(papers, at):
    papers.update(state=Paper.State.MADE, digest="0" * 64, made_at=at)


@pytest.fixture
def photo(applicator):
    report = make_issued(applicator, kinds=("mortar_drop", "soil_against_brick"))
    mark_made(report.papers.all(), clock.now() - timedelta(hours=1))
    return report.items.get(kind="mortar_drop").photos.get()


def older(client, photo):
    page = client.get(reverse("photos:detail", args=[photo.pk]))
    return {(paper.kind, paper.trade) for paper in page.context["older_papers"]}


def test_papers_that_show_the_photo_are_named_once_it_is_blurred(client_for, applicator, photo):
    client = client_for(applicator)
    assert older(client, photo) == set()
    save_markup(applicator, photo, [BLUR], seen_version=0)
    assert older(client, photo) == {
        ("site_report", ""),
        ("photo_record", ""),
        ("fix_list", "bricklayer"),  # the other trade's list has another photo
    }


def test_a_paper_made_again_after_the_blur_is_named_no_more(client_for, applicator, photo):
    save_markup(applicator, photo, [BLUR], seen_version=0)
    record = Paper.objects.get(kind=Paper.Kind.PHOTO_RECORD)
    again = new_edition(applicator, record, reason="A face is blurred now")
    mark_made(Paper.objects.filter(pk=again.pk), clock.now() + timedelta(minutes=1))
    assert ("photo_record", "") not in older(client_for(applicator), photo)


def test_a_builder_is_not_told(client_for, applicator, photo):
    save_markup(applicator, photo, [BLUR], seen_version=0)
    assert older(client_for(make_contact(photo.site.builder)), photo) == set()
