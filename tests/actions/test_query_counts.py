"""How many queries actions take: pinned, so that none comes back unnoticed."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import booking, confirming
from readiness.models import Business
from readiness.read_once import reading_once
from tests.actions.cases.base import FRIDAY, NOW, Cast
from tests.factories import all_ticks, make_item, proof_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast(applicator, contact, builder, site, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


def queries_of(do) -> list[str]:
    """The queries of an action within a request, without savepoints."""
    Business.current()
    with reading_once(), CaptureQueriesContext(connection) as taken:
        do()
    return [one["sql"] for one in taken if "SAVEPOINT" not in one["sql"]]


def add_item(cast):
    draft, wall, photo = cast.draft(), cast.wall(), cast.photo()
    return lambda: drafts.add_item(
        cast.applicator, draft, kind="mortar_drop", wall_run=wall, from_mm=900, photos=[photo]
    )


def change_item(cast):
    item = make_item(cast.applicator, cast.draft())
    return lambda: drafts.change_item(cast.applicator, item, note="By the door")


def report_fixed(cast):
    item, photo = cast.item(), cast.photo()
    return lambda: fixes.report_fixed(cast.contact, item, photos=[photo])


def accept_fix(cast):
    item, _fix = cast.fixed()
    return lambda: fixes.accept_fix(cast.applicator, item)


def confirm_ready(cast):
    report, ticks, proof = cast.issued(kinds=()), all_ticks(cast.site), proof_of(cast.contact)
    return lambda: confirming.confirm_ready(cast.contact, report, ticks=ticks, proof=proof)


def accept_offer(cast):
    cast.confirmed()
    offered = cast.offered(FRIDAY)
    return lambda: booking.accept_offer(cast.contact, offered)


def issue_report(cast):
    draft = cast.draft()
    for run in cast.site.wall_runs.all():
        drafts.check_run(cast.applicator, draft, run)
    make_item(cast.applicator, draft)
    told = [cast.contact.memberships.get()]
    return lambda: issuing.issue_report(cast.applicator, draft, notify=told)


QUERIES = {
    add_item: 23,
    change_item: 14,
    report_fixed: 36,
    accept_fix: 27,
    confirm_ready: 37,
    accept_offer: 37,
    issue_report: 78,
}
"""Savepoints not counted; what a contact may do is read once, in a request by its view already."""


@pytest.mark.parametrize("arrange", QUERIES, ids=lambda arrange: arrange.__name__)
def test_an_action_takes_so_many_queries(cast, arrange):
    taken = queries_of(arrange(cast))
    assert len(taken) == QUERIES[arrange], "\n".join(one[:160] for one in taken)


@pytest.mark.parametrize("arrange", QUERIES, ids=lambda arrange: arrange.__name__)
def test_an_action_reads_the_business_once_and_once_more_for_the_rank(cast, arrange):
    taken = queries_of(arrange(cast))
    assert sum('FROM "readiness_business"' in one for one in taken) <= 2


def test_another_wanted_day_takes_the_same_queries_however_many_items(cast):
    draft, counts = cast.draft(), []
    for number in (1, 30):
        for _ in range(number):
            make_item(cast.applicator, draft)
        wanted = draft.treatment_wanted_on + timedelta(days=number)
        counts.append(
            len(
                queries_of(
                    lambda wanted=wanted: drafts.change_report(
                        cast.applicator, draft, treatment_wanted_on=wanted
                    )
                )
            )
        )
    assert counts == [15, 15]
