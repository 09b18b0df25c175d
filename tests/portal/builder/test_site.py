"""One site as its builder sees it: what to fix, grouped; what was looked at; nothing of a draft."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.papers import asking as paper_actions
from readiness.actions.reporting import drafts, issuing
from readiness.models import Business, Paper, WallRun
from tests.factories import make_draft, make_issued, make_item, make_photo, make_runs, make_site

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
QUERIES = 17  # of which 3 are the session's


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def browser(client_for, contact):
    return client_for(contact)


@pytest.fixture
def site(builder):
    found = make_site(builder, street="12 Lyrebird Crescent")
    make_runs(found, "North wall", "East wall", "South wall", "West wall")
    return found


def walls(site):
    return {run.label: run for run in site.wall_runs.all()}


def issue(applicator, site, *items, **fields):
    """A report with items given as (kind, wall label, more fields)."""
    report = make_draft(applicator, site, **fields)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, report, run)
    for kind, wall, more in items:
        make_item(applicator, report, kind=kind, run=walls(site)[wall], **more)
    return issuing.issue_report(applicator, report)


def url(site, **query):
    return reverse("builder:site", args=[site.pk], query=query)


def test_each_item_says_what_where_by_when_and_its_state(browser, applicator, site):
    issue(applicator, site, ("mortar_drop", "North wall", {"from_mm": 2400, "to_mm": 5100}))
    page = browser.get(url(site)).content.decode().replace("\xa0", " ")
    assert "Mortar drop" in page
    assert "North wall, from 2.4 m to 5.1 m (2.7 m)" in page
    assert "Chip the dropped mortar off from 2.4 m to 5.1 m" in page
    assert "Due Wednesday 16 December" in page
    assert "To fix" in page


def test_what_was_measured_is_held_against_the_rule_of_its_report(browser, applicator, site):
    from_photo = {"measured_from": "photo", "measured_uncertainty": 4}
    issue(
        applicator,
        site,
        ("render_line_low", "North wall", {"measured_value": 40}),
        ("unfilled_joint", "North wall", {"measured_value": 35, **from_photo}),
    )
    page = browser.get(url(site)).content.decode()
    assert "40 mm, 35 mm less than the 75 mm needed." in page
    assert "35 mm, 32 mm over the limit of 3 mm. Measured on a photo, ± 4 mm." in page


def test_the_mark_on_the_wall_lies_where_the_item_is(browser, applicator, site):
    issue(applicator, site, ("mortar_drop", "North wall", {"from_mm": 3000, "to_mm": 6000}))
    card = browser.get(url(site)).context["lists"].open[0]
    assert card.strip == {"x": 25.0, "width": 25.0, "length": "12 m"}


def test_a_mark_at_the_end_of_a_wall_stays_on_it(browser, applicator, site):
    issue(applicator, site, ("mortar_drop", "North wall", {"from_mm": 12_000}))
    strip = browser.get(url(site)).context["lists"].open[0].strip
    assert strip["x"] + strip["width"] == 100


def test_items_are_grouped_by_trade_with_most_left_first(browser, applicator, site):
    issue(
        applicator,
        site,
        ("render_line_low", "North wall", {"measured_value": 40}),
        ("mortar_drop", "North wall", {}),
        ("weep_hole_blocked", "South wall", {}),
    )
    groups = browser.get(url(site)).context["groups"]
    assert [(group.title, len(group.cards)) for group in groups] == [
        ("Bricklayer", 2),
        ("Renderer", 1),
    ]


def test_what_is_overdue_comes_first(browser, applicator, site):
    """The brick must be clean only shortly before the day; the joints are late already."""
    with clock.at(NOW - timedelta(days=7)):
        issue(
            applicator,
            site,
            ("dirty_brick", "North wall", {"due_on": date(2026, 12, 1)}),
            ("tap_splashes", "East wall", {"due_on": date(2026, 11, 30)}),
            ("unfilled_joint", "East wall", {"due_on": date(2026, 11, 20), "measured_value": 30}),
            visited_on=date(2026, 11, 16),
        )
    groups = browser.get(url(site)).context["groups"]
    assert [[card.item.kind for card in group.cards] for group in groups] == [
        ["unfilled_joint"],
        ["tap_splashes", "dirty_brick"],
    ]
    assert [group.left_words for group in groups] == [
        "1 overdue since 20 November",
        "1 due by 30 November, 1 later",
    ]


def test_what_the_applicator_looks_at_stands_apart_and_can_be_undone(
    browser, applicator, site, contact
):
    report = issue(
        applicator, site, ("mortar_drop", "North wall", {}), ("dirty_brick", "North wall", {})
    )
    drop = report.items.get(kind="mortar_drop")
    fixes.report_fixed(contact, drop, photos=[make_photo(site, contact)])
    response = browser.get(url(site))
    assert [card.item for card in response.context["lists"].waiting] == [drop]
    assert [card.item.kind for group in response.context["groups"] for card in group.cards] == [
        "dirty_brick"
    ]
    page = response.content.decode()
    assert "For us to check" in page
    assert reverse("builder:take_back", args=[drop.fixes.get().pk]) in page


def test_items_are_grouped_by_wall_in_order_round_the_house(browser, applicator, site):
    issue(
        applicator,
        site,
        ("mortar_drop", "South wall", {"from_mm": 500}),
        ("mortar_drop", "North wall", {"from_mm": 9000}),
        ("weep_hole_blocked", "North wall", {"from_mm": 1000}),
    )
    response = browser.get(url(site, by="wall"))
    assert [group.title for group in response.context["groups"]] == ["North wall", "South wall"]
    first = response.context["groups"][0]
    assert [card.item.from_mm for card in first.cards] == [1000, 9000]


def test_overdue_is_marked_in_words(browser, applicator, site):
    with clock.at(NOW - timedelta(days=7)):
        issue(
            applicator,
            site,
            ("mortar_drop", "North wall", {}),
            visited_on=date(2026, 11, 16),
            treatment_wanted_on=date(2026, 11, 24),
        )
    assert "Overdue since 20 November" in browser.get(url(site)).content.decode()


def test_record_only_and_ours_stand_apart_from_what_to_fix(browser, applicator, site):
    issue(
        applicator,
        site,
        ("mortar_drop", "North wall", {}),
        ("tight_crack", "North wall", {"effect": "record"}),
        ("dirty_brick", "East wall", {"effect": "applicator"}),
    )
    response = browser.get(url(site))
    lists = response.context["lists"]
    assert [len(part) for part in (lists.open, lists.record, lists.applicator)] == [1, 1, 1]
    page = response.content.decode()
    assert "Nobody has to fix it before we can book" in page
    assert "Brush the crack clean" not in page


def test_what_was_sent_back_shows_the_reason(browser, applicator, site, contact):
    report = issue(applicator, site, ("mortar_drop", "North wall", {}))
    item = report.items.get()
    fixes.report_fixed(contact, item, photos=[make_photo(site, contact)])
    fixes.send_back(applicator, item, reason="The left half is still dirty.")
    page = browser.get(url(site)).content.decode()
    assert "Sent back" in page
    assert "The left half is still dirty." in page


def test_the_decision_on_a_disagreement_shows(browser, applicator, site, contact):
    report = issue(applicator, site, ("mortar_drop", "North wall", {}))
    item = fixes.disagree(contact, report.items.get(), reason="It is paint.")
    assert "We have not decided yet." in browser.get(url(site)).content.decode()
    fixes.decide_disagreement(applicator, item, stands=True, reason="It chips off: mortar.")
    page = browser.get(url(site)).content.decode()
    assert "We decided: the item stays" in page
    assert "It chips off: mortar." in page


def test_what_else_keeps_it_from_being_confirmed_stands_apart_from_the_items(
    browser, applicator, site
):
    issue(applicator, site, ("mortar_drop", "North wall", {}))
    assert browser.get(url(site)).context["waits_for"] == []
    WallRun.objects.create(site=site, position=5, label="Porch wall", length_mm=2400)
    (reason,) = browser.get(url(site)).context["waits_for"]
    assert "Porch wall" in reason.sentence


def test_a_draft_shows_nothing_to_the_builder(browser, applicator, site):
    report = make_draft(applicator, site)
    make_item(applicator, report)
    response = browser.get(url(site))
    assert response.context["lists"].open == []
    assert "Mortar drop" not in response.content.decode()
    assert browser.get(reverse("builder:report", args=[report.pk])).status_code == 404


def test_an_earlier_report_stays_readable(browser, applicator, site):
    first = issue(applicator, site, ("mortar_drop", "North wall", {}))
    issue(applicator, site)
    page = browser.get(url(site)).content.decode()
    assert reverse("builder:report", args=[first.pk]) in page
    earlier = browser.get(reverse("builder:report", args=[first.pk])).content.decode()
    assert "A later report replaced this one" in earlier.replace("&#x27;", "’").replace("'", "’")
    assert "Mortar drop" in earlier


def test_every_wall_says_how_it_stands(browser, applicator, site):
    issue(applicator, site, ("mortar_drop", "North wall", {}))
    looked = browser.get(url(site)).content.decode()
    looked = looked[looked.index("What we checked") : looked.index('id="papers"')]
    assert looked.count("Nothing to fix") == 3
    assert looked.count("Not ready") == 1


def test_the_plan_leads_to_the_items_of_each_wall(browser, applicator, site):
    issue(applicator, site, ("mortar_drop", "North wall", {}))
    plan = browser.get(url(site)).context["plan"]
    north = walls(site)["North wall"]
    assert f'href="?by=wall#wall-{north.pk}"' in plan.svg
    assert re.findall(r"<desc.*North wall, 12 m, not ready, item 1\. East wall", plan.svg)
    assert "Not ready" in plan.svg, "the key says what the double line means"


FAILED_WORDS = "could not be made. Ask us if you need it now."


def fail(paper):
    paper.state, paper.error = Paper.State.FAILED, "OSError: no room on the disk"
    paper.given_up_at = NOW
    paper.save()


def test_a_paper_that_could_not_be_made_is_named_with_nothing_to_press(browser, applicator, site):
    report = issue(applicator, site, ("mortar_drop", "North wall", {}))
    fail(report.papers.get(kind=Paper.Kind.PHOTO_RECORD))
    for address in (url(site), reverse("builder:report", args=[report.pk])):
        page = browser.get(address).content.decode()
        assert re.search(rf"Photo record\s+<[^>]+>{FAILED_WORDS}", page)
        assert page.count(FAILED_WORDS) == 1
        assert "no room on the disk" not in page
        assert "Try again" not in page
        assert "/retry/" not in page


def test_a_failed_edition_stands_beside_the_one_that_was_made(browser, applicator, site):
    report = issue(applicator, site)
    first = report.papers.get(kind=Paper.Kind.PHOTO_RECORD)
    first.state, first.made_at = Paper.State.MADE, clock.now()
    first.digest, first.byte_size, first.pages = "a" * 64, 2000, 3
    first.save()
    with clock.at(NOW + timedelta(hours=1)):
        second = paper_actions.new_edition(applicator, first, reason="A word was wrong.")
    fail(second)
    page = browser.get(url(site)).content.decode()
    assert reverse("papers:paper", args=[first.pk]) in page
    assert re.search(rf"Photo record, edition 2\s+<[^>]+>{FAILED_WORDS}", page)
    with clock.at(NOW + timedelta(hours=2)):
        paper_actions.new_edition(applicator, first, reason="The same again.")
    assert FAILED_WORDS not in browser.get(url(site)).content.decode()


def test_the_history_leaves_out_work_on_drafts(browser, applicator, site, contact):
    report = issue(applicator, site, ("mortar_drop", "North wall", {}))
    fixes.disagree(contact, report.items.get(), reason="It is paint.")
    page = browser.get(reverse("builder:history", args=[site.pk])).content.decode()
    assert "Issued report 1" in page
    assert "Disputed item 1" in page
    assert "It is paint." in page
    assert "Added item" not in page


def test_the_page_takes_the_same_queries_however_many_items(browser, applicator, builder, contact):
    few_site, many_site = make_site(builder), make_site(builder)
    make_issued(applicator, few_site, kinds=("mortar_drop",))
    make_issued(applicator, many_site, kinds=("mortar_drop", "weep_hole_blocked") * 6)
    for site in (few_site, many_site):
        for item in site.reports.get().items.all()[:5]:
            fixes.report_fixed(contact, item, photos=[make_photo(site, contact)])
    browser.get(url(few_site))
    with CaptureQueriesContext(connection) as few:
        browser.get(url(few_site))
    with CaptureQueriesContext(connection) as many:
        browser.get(url(many_site))
    assert len(few) == len(many) == QUERIES


@pytest.mark.parametrize("page", ["site", "history", "report_fixed_many", "confirm", "book"])
def test_an_outsider_gets_404(client_for, other_contact, site, page):
    address = reverse(f"builder:{page}", args=[site.pk])
    assert client_for(other_contact).get(address).status_code == 404
    assert client_for().get(address).status_code == 302


def test_the_page_says_whom_to_ask(browser, site):
    business = Business.current()
    business.phone, business.email = "02 5550 0101", "office@applicator.example"
    business.save()
    page = browser.get(reverse("builder:site", args=[site.pk])).content.decode()
    assert 'href="tel:0255500101">02 5550 0101</a>' in page
    assert 'href="mailto:office@applicator.example"' in page
