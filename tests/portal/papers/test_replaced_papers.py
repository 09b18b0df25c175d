"""A photo blurred or deleted late: which papers still show it, and making them again."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from readiness import clock
from readiness.actions.papers.asking import new_edition
from readiness.actions.papers.replacing import replace_papers
from readiness.actions.photos.keeping import save_markup
from readiness.models import Paper, Photo, RecordEntry
from readiness.models.freeze import without_triggers
from tests.factories import make_contact, make_issued

BLUR = {"kind": "blur", "box": [0.25, 0.25, 0.5, 0.5]}
ARROW = {"kind": "arrow", "from": [0.1, 0.1], "to": [0.3, 0.3]}
THREE = {
    ("site_report", ""),
    ("photo_record", ""),
    ("fix_list", "bricklayer"),  # the other trade's list has another photo
}


def mark_made(papers, at):
    made = {"digest": "0" * 64, "started_at": at, "made_at": at, "pages": 4, "byte_size": 90_000}
    papers.update(state=Paper.State.MADE, **made)


@pytest.fixture
def photo(applicator):
    report = make_issued(applicator, kinds=("mortar_drop", "soil_against_brick"))
    mark_made(report.papers.all(), clock.now() - timedelta(hours=1))
    return report.items.get(kind="mortar_drop").photos.get()


@pytest.fixture
def blurred(applicator, photo):
    save_markup(applicator, photo, [BLUR], seen_version=0)
    return photo


def older(client, photo):
    page = client.get(reverse("photos:detail", args=[photo.pk]))
    return {(paper.kind, paper.trade) for paper in page.context["older_papers"]}


def test_papers_that_show_the_photo_are_named_once_it_is_blurred(client_for, applicator, photo):
    client = client_for(applicator)
    assert older(client, photo) == set()
    save_markup(applicator, photo, [BLUR], seen_version=0)
    assert older(client, photo) == THREE


def test_marks_that_hide_nothing_more_ask_for_no_new_edition(client_for, applicator, blurred):
    replace_papers(applicator, blurred, reason="Blurred.")
    mark_made(Paper.objects.filter(edition=2), clock.now())
    save_markup(applicator, blurred, [BLUR, ARROW], seen_version=1)
    assert older(client_for(applicator), blurred) == set()


def test_a_paper_that_was_being_made_while_the_photo_was_blurred_is_named(
    client_for, applicator, blurred
):
    later = clock.now() + timedelta(minutes=1)
    with without_triggers():
        Paper.objects.filter(kind=Paper.Kind.SITE_REPORT).update(made_at=later)
    assert older(client_for(applicator), blurred) == THREE


def test_a_builder_is_not_told(client_for, blurred):
    assert older(client_for(make_contact(blurred.site.builder)), blurred) == set()


def test_replacing_makes_new_editions_and_keeps_the_earlier_ones_from_the_builder(
    client_for, applicator, blurred
):
    client = client_for(applicator)
    before = set(Paper.objects.filter(kind="site_report"))
    answer = client.post(reverse("photos:replace_papers", args=[blurred.pk]), follow=True)
    assert "The builder now sees only the newest edition of 3 papers." in answer.content.decode()
    made = Paper.objects.filter(edition=2)
    assert {(paper.kind, paper.trade) for paper in made} == THREE
    assert {paper.edition_reason for paper in made} == {"A part of a photo is blurred now."}
    contact = make_contact(blurred.site.builder)
    (old,) = before
    assert old in Paper.objects.visible_to(applicator)
    assert old not in Paper.objects.visible_to(contact)
    assert Paper.objects.visible_to(contact).get(kind="site_report").edition == 2
    assert Paper.objects.filter(edition=1, withheld_at=None).get().trade == "earthworks"
    assert older(client, blurred) == set()


def test_the_builder_who_opens_a_replaced_edition_is_led_to_the_list(
    client_for, applicator, blurred
):
    old = Paper.objects.get(kind="site_report")
    replace_papers(applicator, blurred, reason="A face is blurred now.")
    address = reverse("papers:paper", args=[old.pk])
    answer = client_for(make_contact(blurred.site.builder)).get(address, follow=True)
    assert answer.redirect_chain == [(reverse("papers:site", args=[blurred.site_id]), 302)]
    assert "That edition was replaced." in answer.content.decode()
    assert client_for(make_contact()).get(address).status_code == 404


def test_an_edition_before_one_that_was_made_since_is_outdated_too(client_for, applicator, blurred):
    record = Paper.objects.get(kind=Paper.Kind.PHOTO_RECORD)
    again = new_edition(applicator, record, reason="A face is blurred now")
    mark_made(Paper.objects.filter(pk=again.pk), clock.now() + timedelta(minutes=1))
    client = client_for(applicator)
    assert ("photo_record", "") in older(client, blurred)
    assert again in replace_papers(applicator, blurred, reason="Blurred.")
    assert Paper.objects.filter(kind=Paper.Kind.PHOTO_RECORD).count() == 2
    assert Paper.objects.get(pk=record.pk).withheld_at
    assert ("photo_record", "") not in older(client, blurred)


def test_replacing_twice_makes_one_new_edition_of_each(applicator, blurred):
    assert len(replace_papers(applicator, blurred, reason="Blurred.")) == 3
    assert replace_papers(applicator, blurred, reason="Blurred.") == []
    assert RecordEntry.objects.filter(verb="papers_replaced").count() == 1


def test_a_blur_that_comes_after_the_replacement_asks_for_it_again(applicator, blurred):
    replace_papers(applicator, blurred, reason="Blurred.")
    mark_made(Paper.objects.filter(edition=2), clock.now())
    other = {"kind": "blur", "box": [0.6, 0.6, 0.8, 0.8]}
    save_markup(applicator, blurred, [BLUR, other], seen_version=1)
    assert {paper.edition for paper in replace_papers(applicator, blurred, reason="More.")} == {3}
    assert not Paper.objects.filter(edition=2, withheld_at=None).exists()


def test_a_builder_replaces_nothing(client_for, blurred):
    contact = make_contact(blurred.site.builder)
    with pytest.raises(PermissionDenied):
        replace_papers(contact, blurred, reason="Blurred.")
    answer = client_for(contact).post(reverse("photos:replace_papers", args=[blurred.pk]))
    assert answer.status_code == 404
    assert not Paper.objects.filter(edition=2).exists()


@pytest.mark.parametrize(("choice", "editions"), [("on", {1, 2}), ("", {1})])
def test_deleting_a_photo_offers_to_replace_the_papers_that_show_it(
    client_for, applicator, photo, choice, editions
):
    address = reverse("photos:delete", args=[photo.pk])
    client = client_for(applicator)
    page = client.get(address)
    assert {(paper.kind, paper.trade) for paper in page.context["papers"]} == THREE
    client.post(address, {"reason": "The owner asked", "replace_papers": choice})
    assert Photo.objects.get(pk=photo.pk).is_removed
    assert set(Paper.objects.values_list("edition", flat=True)) == editions
    assert Paper.objects.exclude(withheld_at=None).count() == (3 if choice else 0)


def test_the_same_file_under_another_id_counts(client_for, applicator, blurred):
    twin = Photo.objects.create(
        site=blurred.site, original=blurred.original, filename="again.jpg", on_site=True
    )
    save_markup(applicator, twin, [BLUR], seen_version=0)
    assert older(client_for(applicator), twin) == THREE
