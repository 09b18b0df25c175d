"""A site with many items: every item can be seen, with a script and without."""

import re
from datetime import date

import pytest
from django.db import transaction
from django.urls import reverse

from portal.builder.sites.long_lists import FIRST_CARDS, TOO_FEW_TO_HIDE
from readiness.actions.fixing import fixes
from readiness.actions.reporting import drafts, issuing
from readiness.models import DefectItem, Site, User
from tests.actions.cases.base import Cast
from tests.factories import (
    make_applicator,
    make_builder,
    make_contact,
    make_draft,
    make_item,
    make_photo,
    make_runs,
    make_site,
)

pytestmark = pytest.mark.django_db

KINDS = ("mortar_drop", "weep_hole_blocked", "dirty_brick", "tight_crack")
MANY = 20


@pytest.fixture(scope="module")
def cast(django_db_setup, django_db_blocker):
    """The people, and a site with many items, made once: each test takes back what it changes."""
    with django_db_blocker.unblock(), transaction.atomic():
        builder = make_builder()
        applicator, contact = make_applicator(), make_contact(builder)
        yield Cast(applicator, contact, builder, site_with(applicator, builder, MANY))
        transaction.set_rollback(True)


@pytest.fixture
def applicator(db, cast):
    return cast.applicator


@pytest.fixture
def builder(db, cast):
    return cast.builder


@pytest.fixture
def contact(db, cast):
    return User.objects.get(pk=cast.contact.pk)


@pytest.fixture
def many(db, cast):
    return Site.objects.get(pk=cast.site.pk)


@pytest.fixture
def browser(client_for, contact):
    return client_for(contact)


def site_with(applicator, builder, count):
    site = make_site(builder)
    runs = make_runs(site)
    report = make_draft(applicator, site, visited_on=date.today())
    for run in runs:
        drafts.check_run(applicator, report, run)
    for number in range(count):
        make_item(applicator, report, kind=KINDS[number % 4], run=runs[number % 3])
    issuing.issue_report(applicator, report)
    return site


def page_of(browser, site, **query):
    return browser.get(reverse("builder:site", args=[site.pk]), query).content.decode()


def cards_in(page):
    return re.findall(r'<article [^>]*id="item-([0-9a-f-]{36})"', page)


def parts_of(browser, page):
    """What a script fetches for the page as it is scrolled through."""
    for address in re.findall(r'hx-get="([^"]*/items/[^"]*)"', page):
        answer = browser.get(address.replace("&amp;", "&"), headers={"HX-Request": "true"})
        assert answer.status_code == 200
        yield answer.content.decode()


def ids_of(site):
    return sorted(str(item.pk) for item in DefectItem.objects.filter(report__site=site))


@pytest.mark.parametrize("by", ["trade", "wall"])
def test_the_first_cards_come_with_the_page_and_all_others_after_them_once(browser, many, by):
    page = page_of(browser, many, by=by)
    first = cards_in(page)
    assert FIRST_CARDS <= len(first) <= FIRST_CARDS + 2 * TOO_FEW_TO_HIDE
    later = [card for part in parts_of(browser, page) for card in cards_in(part)]
    assert sorted(first + later) == ids_of(many)


def test_headings_and_counts_are_all_there_from_the_start(browser, many):
    response = browser.get(reverse("builder:site", args=[many.pk]))
    groups = response.context["groups"]
    assert len(groups) > 1
    page = response.content.decode()
    for group in groups:
        assert f'<h2 id="group-{group.key}">' in page
        assert group.left_words in page


def test_without_a_script_a_link_shows_them_all(browser, many):
    page = page_of(browser, many)
    address = re.search(r'<p class="more-items"><a [^>]*href="([^"#]*)#', page)[1]
    whole = browser.get(reverse("builder:site", args=[many.pk]) + address.replace("&amp;", "&"))
    assert sorted(cards_in(whole.content.decode())) == ids_of(many)
    assert "more-items" not in whole.content.decode()


def test_a_short_list_is_shown_whole(browser, applicator, builder):
    page = page_of(browser, site_with(applicator, builder, FIRST_CARDS + TOO_FEW_TO_HIDE))
    assert len(cards_in(page)) == FIRST_CARDS + TOO_FEW_TO_HIDE
    assert "more-items" not in page


@pytest.mark.parametrize("by", ["trade", "wall"])
def test_whoever_comes_for_an_item_finds_it_on_the_page(browser, many, by):
    first = cards_in(page_of(browser, many, by=by))
    for item in set(ids_of(many)) - set(first):
        assert item in cards_in(page_of(browser, many, by=by, item=item))


def test_an_item_fixed_meanwhile_leaves_no_other_one_out(browser, contact, many):
    page = page_of(browser, many)
    first = cards_in(page)
    last = DefectItem.objects.get(pk=first[-1])
    fixes.report_fixed(contact, last, photos=[make_photo(many, contact)])
    later = [card for part in parts_of(browser, page) for card in cards_in(part)]
    assert sorted({*first, *later}) == ids_of(many)


def test_folds_open_where_they_were_asked_for(browser, contact, applicator, many):
    for item in DefectItem.objects.filter(report__site=many)[:6]:
        if item.effect == "holds":
            fixes.report_fixed(contact, item, photos=[make_photo(many, contact)])
            item.refresh_from_db()
            fixes.accept_fix(applicator, item)
    assert '<details class="panel kept" id="group-done">' in page_of(browser, many)
    assert '<details class="panel kept" id="group-done" open>' in page_of(browser, many, all="done")


def test_a_part_that_is_opened_by_itself_leads_to_the_page(browser, many):
    address = reverse("builder:more_items", args=[many.pk])
    answer = browser.get(address, {"by": "wall", "group": "x"})
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("builder:site", args=[many.pk]))


def test_a_part_of_what_is_no_longer_there_is_empty(browser, many):
    answer = browser.get(
        reverse("builder:more_items", args=[many.pk]),
        {"group": "carpenter-of-old"},
        headers={"HX-Request": "true"},
    )
    assert (answer.status_code, answer.content) == (200, b"")


def test_another_builders_contact_gets_no_part(client_for, other_contact, many):
    address = reverse("builder:more_items", args=[many.pk])
    answer = client_for(other_contact).get(address, headers={"HX-Request": "true"})
    assert answer.status_code == 404


def test_parts_take_the_same_queries_however_many_cards(
    browser, applicator, builder, django_assert_num_queries
):
    for count in (16, MANY):
        site = site_with(applicator, builder, count)
        page = page_of(browser, site)
        address = re.findall(r'hx-get="([^"]*/items/[^"]*)"', page)[-1].replace("&amp;", "&")
        with django_assert_num_queries(14):
            browser.get(address, headers={"HX-Request": "true"})
