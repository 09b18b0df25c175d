"""E-mails over a real connection to a mail server that takes them, refuses them, or breaks off."""

from datetime import timedelta

import pytest

from readiness import clock, errands
from readiness.actions import tasks
from readiness.messages import delivery
from readiness.models import Message
from tests.factories import make_issued
from tests.messages.smtp_server import nobody

pytestmark = pytest.mark.django_db


@pytest.fixture
def message(applicator, contact, site) -> Message:
    """An e-mail that may go now."""
    make_issued(applicator, site, notify=[contact.memberships.get()])
    Message.objects.update(state=Message.State.WAITING)
    return Message.objects.get()


def send(message: Message) -> Message:
    """One try at the time it is for, then the row as it stands."""
    message.refresh_from_db()
    with clock.at(message.next_try_at):
        tasks.send_message.call(str(message.pk))
    message.refresh_from_db()
    return message


def test_an_e_mail_is_taken_once(message, mail_server, contact):
    sent = send(message)
    assert (sent.state, sent.attempts, sent.error) == (Message.State.SENT, 1, "")
    tasks.send_message.call(str(message.pk))
    (email,) = mail_server.taken
    assert email["To"] == contact.email
    assert email["Message-ID"] == f"<{message.pk}@127.0.0.1>"


@pytest.mark.parametrize(
    ("step", "reply"),
    [
        ("mail", "550 Not from you"),
        ("rcpt", "550 No such user"),
        ("data", "554 No"),
        ("text", "554 Spam"),
    ],
)
def test_a_refusal_for_good_is_not_repeated(message, mail_server, step, reply):
    """RFC 5321, 4.2.1: after 5yz the client "SHOULD NOT repeat the exact request"."""
    mail_server.faults[step] = reply
    refused = send(message)
    assert refused.state == Message.State.GIVEN_UP
    assert refused.attempts == 1
    assert refused.error
    assert refused.unsure == 0
    assert refused not in Message.objects.due(clock.now() + timedelta(days=9))


@pytest.mark.parametrize(
    ("step", "fault"),
    [
        ("connect", "421 Busy"),
        ("connect", "554 Not you"),  # lets the portal in no more: nothing about this e-mail
        ("connect", "drop"),
        ("mail", "451 Later"),
        ("mail", "530 Sign in first"),
        ("rcpt", "450 Greylisted"),
        ("rcpt", "drop"),
        ("data", "451 Later"),
        ("data", "drop"),
        ("text", "452 Full"),
        ("connect", "stall"),
        ("rcpt", "stall"),
        ("data", "stall"),
    ],
)
def test_what_did_not_leave_is_tried_again_after_a_pause(
    message, mail_server, settings, step, fault
):
    settings.EMAIL_TIMEOUT = 0.3
    mail_server.faults[step] = fault
    waiting = send(message)
    assert waiting.state == Message.State.WAITING
    assert waiting.error
    assert waiting.unsure == 0
    assert waiting.next_try_at - waiting.started_at == timedelta(minutes=1)
    mail_server.faults.clear()
    mail_server.go_on.set()
    settings.EMAIL_TIMEOUT = 20  # now it answers, however busy this machine is
    assert send(message).state == Message.State.SENT
    assert len(mail_server.taken) == 1


@pytest.mark.parametrize("fault", ["drop", "stall"])
def test_an_answer_that_never_came_makes_at_most_one_double_and_is_said(
    message, mail_server, settings, fault
):
    """The server has the text and breaks off before its 250: nobody can know (RFC 1047)."""
    settings.EMAIL_TIMEOUT = 0.3
    mail_server.faults["text"] = fault
    unsure = send(message)
    assert (unsure.state, unsure.unsure) == (Message.State.WAITING, 1)
    assert "don't know" in unsure.error
    mail_server.faults.clear()
    assert send(message).state == Message.State.SENT
    assert mail_server.ids == [f"<{message.pk}@127.0.0.1>"] * 2


def test_a_server_that_never_answers_the_text_gets_it_twice_at_most(message, mail_server):
    mail_server.faults["text"] = "drop"
    send(message)
    assert send(message).state == Message.State.GIVEN_UP
    assert message.unsure == 2
    assert len(mail_server.taken) == 2


def test_a_server_that_hangs_up_after_its_answer_has_taken_it(message, mail_server):
    mail_server.faults["replied"] = "drop"
    assert send(message).state == Message.State.SENT
    assert len(mail_server.taken) == 1


def test_the_pauses_grow_and_end(message, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", nobody()
    pauses = []
    while send(message).state == Message.State.WAITING:
        pauses.append(message.next_try_at - message.started_at)
    minutes = [pause / timedelta(minutes=1) for pause in pauses]
    assert minutes == [1, 5, 30, 120, 360, 1440]
    assert message.state == Message.State.GIVEN_UP
    assert message.given_up_at
    assert message.attempts == 7


def test_an_e_mail_that_can_t_be_written_stands_as_failed_and_stops_no_other(
    message, mail_server, monkeypatch
):
    monkeypatch.setitem(delivery.writing.letters.WRITERS, "report_issued", lambda message: 1 / 0)
    for _ in range(4):
        send(message)
    assert message.state == Message.State.GIVEN_UP
    assert "a fault in the portal" in message.error


@pytest.mark.long
def test_a_worker_that_was_taken_for_dead_sends_nothing(message, mail_server, monkeypatch):
    """It woke up after another had taken the e-mail over."""
    write = delivery.writing.write_email

    def slow(claimed):
        written = write(claimed)
        errands.release({claimed.claimed_by})
        return written

    monkeypatch.setattr(delivery.writing, "write_email", slow)
    assert send(message).state == Message.State.WAITING
    assert not mail_server.taken
    monkeypatch.undo()


def test_a_try_that_was_cut_off_before_the_text_went_is_no_double(message, mail_server):
    errands.claim(Message, message.pk)
    assert errands.release({errands.this_worker()}) == 1
    message.refresh_from_db()
    assert (message.state, message.unsure) == (Message.State.WAITING, 0)
    assert message.error == errands.CUT_OFF
    assert send(message).state == Message.State.SENT


def test_a_try_that_was_cut_off_while_the_text_went_may_be_a_double_and_says_so(
    message, mail_server
):
    delivery._mark_text_goes(errands.claim(Message, message.pk))
    errands.release({errands.this_worker()})
    sent = send(message)
    assert (sent.state, sent.unsure) == (Message.State.SENT, 1)


def test_what_cuts_its_worker_off_each_time_is_put_off_and_given_up(message):
    for _ in range(20):
        message.refresh_from_db()
        if message.state != Message.State.WAITING:
            break
        with clock.at(message.next_try_at):
            errands.claim(Message, message.pk)
            errands.release({errands.this_worker()})
    assert message.state == Message.State.GIVEN_UP
    assert message.attempts == 7


def test_a_clock_that_was_wrong_holds_nothing_up(message, settings, mail_server):
    """A try failed while the clock was a year ahead; it was then set right."""
    real = clock.now()
    mail_server.faults["connect"] = "421 Busy"
    with clock.at(real + timedelta(days=365)):
        tasks.send_message.call(str(message.pk))
    mail_server.faults.clear()
    message.refresh_from_db()
    assert message.next_try_at > real + timedelta(days=364)
    tasks.send_message.call(str(message.pk))
    message.refresh_from_db()
    assert message.state == Message.State.SENT
    with clock.at(real + timedelta(days=900)):
        tasks.send_message.call(str(message.pk))
    with clock.at(real - timedelta(days=900)):
        tasks.send_message.call(str(message.pk))
    assert len(mail_server.taken) == 1
