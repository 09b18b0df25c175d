"""Several workers at once, and a mail server that holds one: nothing twice, nobody waits."""

import threading

import pytest
from django.db import connection

from readiness.actions import tasks
from readiness.actions.catching_up import catch_up
from readiness.models import LastDone, Message, Paper, RecordEntry
from readiness.papers import render
from readiness.papers.render import RenderedPaper
from tests.concurrency.test_two_at_once import at_once, failures
from tests.factories import make_issued
from tests.messages.smtp_server import MailServer

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def server(settings):
    server = MailServer()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", server.port, 30
    yield server
    server.close()


@pytest.fixture
def report(applicator, contact, site, settings):
    """Issued, with its papers and its e-mail in no queue."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    report = make_issued(applicator, site, notify=[contact.memberships.get()])
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
    return report


@pytest.mark.parametrize("step", ["connect", "rcpt", "data", "text"])
def test_a_silent_mail_server_holds_nobody_s_write(
    server, report, client_for, applicator, contact, step
):
    """It used to hold SQLite's only write lock for 20 s, and pages failed after that."""
    Message.objects.update(state=Message.State.WAITING)
    server.faults[step] = "stall"
    message = Message.objects.get()
    sending = threading.Thread(target=_in_thread, args=(tasks.send_message, message))
    sending.start()
    assert server.stalled.wait(300)
    with connection.cursor() as cursor:
        _wait_for_locks_briefly(cursor)
    LastDone.note("written meanwhile")
    assert client_for(applicator).get("/office/").status_code == 200
    message.refresh_from_db()
    assert message.state == Message.State.SENDING
    assert sending.is_alive(), "the server still says nothing"
    connection.close()  # with its short patience
    server.go_on.set()
    sending.join(30)
    message.refresh_from_db()
    assert message.state == Message.State.SENT
    assert len(server.taken) == 1


def _wait_for_locks_briefly(cursor) -> None:
    if connection.vendor == "sqlite":
        cursor.execute("PRAGMA busy_timeout = 1000")
    else:
        cursor.execute("SET lock_timeout = '1s'")


def _in_thread(task, row) -> None:
    try:
        task.call(str(row.pk))
    finally:
        connection.close()


@pytest.mark.parametrize("_round", range(3))
def test_two_workers_and_catching_up_make_one_paper_one_entry_and_one_e_mail(
    server, report, contact, monkeypatch, _round
):
    made = []

    def slow(paper, progress):
        made.append(paper.pk)
        progress("Drawing")
        return RenderedPaper(b"%PDF " + paper.subject.encode(), 1)

    monkeypatch.setattr(render, "render_paper", slow)
    papers = [str(pk) for pk in report.papers.values_list("pk", flat=True)]

    def worker():
        for pk in papers:
            tasks.make_paper.call(pk)
        for pk in Message.objects.values_list("pk", flat=True):
            tasks.send_message.call(str(pk))

    results = at_once(worker, worker, catch_up, catch_up)
    assert not failures(results)
    catch_up()
    assert sorted(map(str, made)) == sorted(papers)
    assert not Paper.objects.exclude(state=Paper.State.MADE).exists()
    assert RecordEntry.objects.filter(verb="paper_made").count() == len(papers)
    assert [email["To"] for email in server.taken] == [contact.email]
    assert Message.objects.get().attempts == 1
