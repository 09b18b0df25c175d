"""The business and its rule values are read once a request or task, and never seen stale."""

from threading import Thread

import pytest
from django.db import connection, transaction
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django_tasks_db.management.commands.db_worker import Worker as TaskLoop

from portal.requests.reading import ReadOnceMiddleware
from readiness import priorities
from readiness.actions import task_loop
from readiness.actions.firm.business import change_business
from readiness.actions.firm.rule_values import change_rule_values
from readiness.facts import rule_values
from readiness.models import Business
from readiness.read_once import once, reading_once
from tests.factories import make_issued

pytestmark = pytest.mark.django_db

KEY = "invitation_valid_days"


@pytest.fixture(autouse=True)
def business(db):
    return Business.current()


def reads(do) -> int:
    with CaptureQueriesContext(
        connection,
    ) as taken:
        do()
    return sum('FROM "readiness_business"' in one["sql"] for one in taken)


def read_twice():
    return [(Business.current().name, rule_values()[KEY]) for _ in range(2)]


def test_outside_of_a_request_each_call_reads():
    assert reads(read_twice) == 4


def test_within_a_request_or_task_it_is_read_once():
    with reading_once():
        assert reads(read_twice) == 1


def test_a_block_within_another_keeps_with_it():
    with reading_once():
        read_twice()
        with reading_once():
            assert reads(read_twice) == 0
        assert reads(read_twice) == 0
    assert reads(read_twice) == 4


def test_the_next_request_reads_again():
    for name in ("One", "Two"):
        Business.objects.update(name=name)  # as another process would
        with reading_once():
            assert read_twice()[0][0] == name


def test_what_this_request_saved_it_sees(applicator):
    with reading_once():
        read_twice()
        change_business(applicator, name="Newer")
        change_rule_values(applicator, {KEY: "3"})
        assert read_twice() == [("Newer", 3)] * 2


def test_what_was_saved_and_rolled_back_is_not_seen(applicator):
    with reading_once():
        before = read_twice()
        with transaction.atomic():
            change_business(applicator, name="Newer")
            change_rule_values(applicator, {KEY: "3"})
            assert read_twice() == [("Newer", 3)] * 2
            transaction.set_rollback(True)
        assert read_twice() == before


def test_what_a_form_writes_into_its_row_nobody_else_sees(business):
    with reading_once():
        mine = Business.current()
        mine.name, mine._state.adding = "Typed, and not saved", True
        other = Business.current()
        assert (other.name, other._state.adding) == (business.name, False)


def test_another_thread_keeps_for_itself():
    read = []
    with reading_once():
        once("thing", lambda: "of the request")
        thread = Thread(target=lambda: read.append(once("thing", lambda: "of the thread")))
        thread.start()
        thread.join()
    assert read == ["of the thread"]


def test_a_rank_follows_a_change_that_another_process_committed_meanwhile(
    applicator, contact, site
):
    """Marked for working out anew by that change, it would stay as this request had it in mind."""
    from readiness.actions.fixing.fixes import report_fixed
    from tests.factories import make_photo

    item = make_issued(applicator, site).items.get()
    with reading_once():
        read_twice()
        Business.objects.update(fixes_needed=Business.FixesNeeded.REPORTED_FIXED)
        report_fixed(contact, item, photos=[make_photo(site, contact)])
    site.refresh_from_db()
    assert not priorities.differences(type(site).objects.all())


def test_a_request_is_such_a_block():
    seen = []

    def answer(_request):
        seen.append(reads(read_twice))
        return HttpResponse()

    for _ in range(2):
        ReadOnceMiddleware(answer)(None)
    assert seen == [1, 1]
    assert reads(read_twice) == 4


def test_each_task_of_the_worker_is_such_a_block(monkeypatch):
    seen = []
    monkeypatch.setattr(TaskLoop, "run_task", lambda _self, _task: seen.append(reads(read_twice)))
    loop = task_loop.until_none_waits("test")
    loop.run_task(None)
    loop.run_task(None)
    assert seen == [1, 1]
    assert reads(read_twice) == 4


def test_a_page_reads_the_business_once(client_for, applicator, contact, site):
    make_issued(applicator, site)
    client = client_for(contact)
    for name in ("site", "book"):
        address = reverse(f"builder:{name}", args=[site.pk])
        assert reads(lambda address=address: client.get(address)) == 1
