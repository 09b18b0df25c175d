"""What can hurt is said where somebody acts: beside the item, on fix lists, on treatment day."""

from datetime import datetime, time

import pytest
from django.urls import reverse
from django.utils.html import escape

from readiness import clock
from readiness.actions import sharing
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import booking
from readiness.papers.render import render_paper
from readiness.rules.calendar import calendar_of
from readiness.rules.vocabulary import Caution
from readiness.wording.cautions import caution, on_the_day
from tests.factories import confirm, make_draft, make_issued, make_item
from tests.papers import reports

pytestmark = pytest.mark.django_db

SILICA, NO_MORTAR = caution(Caution.SILICA), caution(Caution.NO_MORTAR)


def page(client, name, *args) -> str:
    return client.get(reverse(name, args=args)).content.decode()


def issued_as(effect, applicator, site, *kinds):
    """An issued report whose items have one effect."""
    draft = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    for kind in kinds:
        make_item(applicator, draft, kind=kind, effect=effect)
    return issuing.issue_report(applicator, draft)


@pytest.fixture
def report(applicator, site):
    return make_issued(applicator, site, kinds=("unfilled_joint", "weep_hole_blocked"))


def test_the_builder_reads_it_with_the_item_and_where_it_is_marked_as_fixed(
    client_for, contact, report
):
    client, item = client_for(contact), report.items.get(kind="unfilled_joint")
    for text in (
        page(client, "builder:site", report.site_id),
        page(client, "builder:report_fixed", item.pk),
        page(client, "builder:report_fixed_many", report.site_id),
    ):
        assert text.count(SILICA) == text.count(NO_MORTAR) == 1


def test_an_item_that_can_not_hurt_has_no_cautions(client_for, contact, report):
    item = report.items.get(kind="weep_hole_blocked")
    assert "Take care" not in page(client_for(contact), "builder:report_fixed", item.pk)


def test_nobody_is_warned_of_a_fix_that_nobody_is_asked_for(client_for, applicator, contact, site):
    report = issued_as("record", applicator, site, "unfilled_joint")
    assert "Take care" not in page(client_for(contact), "builder:site", report.site_id)


def test_the_trade_reads_it_on_the_list_without_an_account(client_for, contact, report):
    link = sharing.share_trade_list(contact, report.site, "bricklayer")
    assert page(client_for(), "trade:trade_list", link.token).count(SILICA) == 1


def test_the_office_reads_it_with_the_item(client_for, applicator, report):
    item = report.items.get(kind="unfilled_joint")
    assert SILICA in page(client_for(applicator), "office:item", item.pk)


def test_who_treats_the_walls_reads_what_the_liquid_meets_and_what_goes_with_own_fixes(
    client_for, applicator, contact, site
):
    kinds = ("articulation_unsealed", "mortar_drop")
    report = issued_as("applicator", applicator, site, *kinds)
    confirm(contact, report)
    day = calendar_of("NSW").add_working_days(clock.now().date(), 2)
    offered = booking.offer_date(applicator, site, day=day, half="morning")
    found = booking.accept_offer(contact, offered)
    with clock.at(datetime.combine(found.day, time(12), tzinfo=site.zone)):
        text = page(client_for(applicator), "office:booking", site.pk)
    for code in (Caution.SEALANT, Caution.NO_MORTAR, Caution.SILICA):
        assert escape(caution(code)) in text


def test_of_the_builders_fixes_what_the_liquid_meets_is_told_on_treatment_day(applicator, site):
    draft = make_draft(applicator, site)
    for kind in ("articulation_unsealed", "dirty_brick", "unfilled_joint"):
        make_item(applicator, draft, kind=kind)
    make_item(applicator, draft, kind="soil_against_brick", effect="record")
    said = on_the_day(draft.items.order_by("number"))
    assert said == (caution(Caution.SEALANT), caution(Caution.NO_ACID))


def test_fix_list_site_report_and_guide_print_it():
    report = reports.issue(items=1)
    papers = {
        paper.kind: " ".join(reports.text_of(render_paper(paper).content).split())
        for paper in report.site.papers.all()
    }
    for kind in ("fix_list", "site_report", "guide"):
        if kind in papers:
            assert "make silica dust" in papers[kind], kind
    assert {"fix_list", "site_report"} <= set(papers)
