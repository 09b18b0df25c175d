"""The checkpoint that goes with every e-mail to both sides: a header, and a line at the foot."""

from email import message_from_bytes, policy

import pytest
from django.core import mail

from readiness.actions.people import inviting
from readiness.evidence import checkpoints, signing
from readiness.evidence.checkpoints import Reason
from readiness.evidence.notes import HEADER, Note
from readiness.messages.delivery import send_message
from readiness.messages.writing import write_email
from readiness.models import Message
from tests.factories import confirm, make_issued

pytestmark = pytest.mark.django_db


@pytest.fixture
def messages(applicator, contact, site):
    """One to each side."""
    report = make_issued(applicator, site, kinds=(), notify=[contact.memberships.get()])
    confirm(contact, report)
    return list(Message.objects.order_by("kind"))


def test_both_sides_get_the_newest_root(messages):
    kinds = [message.kind for message in messages]
    assert kinds == ["ready_confirmed", "report_issued", "signed_for_builder"]
    made = checkpoints.make(Reason.DAILY)
    for message in messages:
        email = write_email(message).email
        sent = message_from_bytes(email.message().as_bytes(), policy=policy.default)
        note = Note.of_header(sent[HEADER])
        assert (note.size, note.root.hex()) == (made.size, made.root)
        assert signing.is_signed_by(note.key, note.signature, note.signed)
        text = " ".join(email.body.split())
        html = " ".join(email.alternatives[0][0].split())
        for said in (text, html):
            assert "it can show whether what our record says so far was changed later." in said
            assert f"Checkpoint of {made.size} entries, fingerprint {made.root}" in said
        assert max(map(len, email.body.splitlines())) < 120


def test_without_a_checkpoint_nothing_is_said_of_one(messages):
    email = write_email(messages[0]).email
    assert HEADER not in email.message()
    assert "heckpoint" not in email.body
    assert "heckpoint" not in email.alternatives[0][0]


def test_what_signs_somebody_in_carries_none(applicator, builder, site, client_for, contact):
    make_issued(applicator, site)
    checkpoints.make(Reason.DAILY)
    inviting.invite_contact(applicator, builder, email="new@wattle.example")
    client_for().post("/accounts/login/code/", {"email": contact.email})
    invitation = Message.objects.get(kind="invitation")
    sent = [*mail.outbox, write_email(invitation).email]
    assert len(sent) == 2
    for email in sent:
        assert HEADER not in email.message()
        assert "heckpoint" not in email.body


@pytest.mark.django_db(transaction=True)
def test_it_leaves_through_a_real_mail_server(messages, mail_server):
    made = checkpoints.make(Reason.DAILY)
    message = messages[0]
    Message.objects.exclude(pk=message.pk).delete()
    Message.objects.update(state="waiting", sent_at=None, attempts=0)
    send_message.call(str(message.pk))
    (taken,) = mail_server.taken
    assert Note.of_header(taken[HEADER]).size == made.size
