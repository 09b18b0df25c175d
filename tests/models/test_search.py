"""Finding sites: the same sites on every database as a plain reading of the rule finds."""

import unicodedata

import pytest
from django.db import transaction
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from portal import paging
from portal.paging import pages_of
from readiness.actions.people import builders
from readiness.actions.sites import sites
from readiness.models import Site
from tests.factories import make_builder, make_site

pytestmark = pytest.mark.django_db


def plain(text):
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).casefold())


def is_found(site, text):
    """Every word occurs in the address, the job number or the builder's name."""
    address = f"{site.street}, {site.suburb} {site.state} {site.postcode}"
    places = [plain(place) for place in (address, site.job_number, site.builder.name)]
    return all(any(word in place for place in places) for word in plain(text).split())


LETTERS = "abB1 2-/%_\\'\"äÄÖößẞéÉe\u0301İıςσΣ,.*?[]"
texts = st.text(LETTERS, max_size=6)
fields = st.fixed_dictionaries({"street": texts, "suburb": texts, "job_number": texts})


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(fields, min_size=1, max_size=6), texts, st.lists(texts, max_size=3))
@example([{"street": "1 Müller Straße", "suburb": "", "job_number": "50%"}], "A_B", ["STRASSE"])
@example([{"street": "5 Back\\slash", "suburb": "", "job_number": "A_1"}], "B", ["\\", "_", "%"])
@example([{"street": "e\u0301", "suburb": "", "job_number": ""}], "B", ["É"])
def test_every_word_is_found_as_a_plain_reading_finds_it(db, places, name, words):
    key = transaction.savepoint()
    try:
        builder = make_builder(name or "B")
        made = [make_site(builder, **place) for place in places]
        # Also words that are there, cut out of what is stored.
        cut = [place["street"][1:4] for place in places] + [name[:3]]
        for text in (*words, *cut, " ".join(words)):
            found = set(Site.objects.matching(text))
            assert found == {site for site in made if is_found(site, text)}, text
    finally:
        transaction.savepoint_rollback(key)


def test_the_whole_address_as_pasted_finds_its_site(builder):
    site = make_site(builder, street="1 Quoll Street", suburb="Tallow Reach", postcode="2999")
    make_site(builder, street="11 Quoll Street", suburb="Mirrin Vale", postcode="2999")
    assert list(Site.objects.matching(site.address)) == [site]


def test_a_word_is_not_found_across_two_places(builder):
    make_site(builder, street="1 Quoll Street", postcode="2999", job_number="77")
    assert not Site.objects.matching("299977").exists()
    assert not Site.objects.matching("77wattle").exists()


def test_what_is_changed_is_found_by_its_new_words(applicator, builder):
    site = make_site(builder, street="1 Quoll Street")
    sites.change_site(applicator, site, street="1 Numbat Street")
    assert list(Site.objects.matching("numbat")) == [site]
    assert not Site.objects.matching("quoll").exists()


def test_a_builder_that_is_renamed_is_found_by_its_new_name(applicator, builder):
    site = make_site(builder, job_number="wattle homes")
    builders.change_builder(applicator, builder, name="Grevillea & Söhne")
    assert list(Site.objects.matching("GREVILLEA SÖHNE")) == [site]
    assert Site.objects.get().search_text.endswith("\nwattle homes\tgrevillea & söhne")
    assert list(Site.objects.matching("wattle")) == [site], "its job number"


def test_rows_that_are_brought_in_together_are_found_too(builder, applicator):
    Site.objects.bulk_create(
        Site(builder=builder, street=street, suburb="Mirrin Vale", state="NSW", created_at=at)
        for street, at in [("1 Quoll Street", applicator.date_joined)]
    )
    assert Site.objects.matching("quoll wattle").exists()


def test_pages_of_a_search_count_no_further_than_anyone_pages(builder, monkeypatch):
    make_site(builder)
    pages = pages_of(Site.objects.matching("tallowood"), "tallowood", 25)
    assert (pages.count, pages.is_cut_short) == (1, False)
    monkeypatch.setattr(paging, "FURTHEST", 2)
    for _ in range(3):
        make_site(builder)
    pages = pages_of(Site.objects.matching("tallowood"), "tallowood", 1)
    assert (pages.count, pages.num_pages, pages.is_cut_short) == (2, 2, True)
    assert pages_of(Site.objects.all(), "", 1).count == 4, "a list that is no search is counted"
