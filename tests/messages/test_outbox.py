"""What is e-mailed to whom, and when it goes."""

from datetime import timedelta

import pytest
from django.conf import settings
from django.core import mail
from django.core.exceptions import PermissionDenied

from readiness import clock, errands
from readiness.actions import emails, tasks
from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.people import rights
from readiness.actions.visits import booking
from readiness.messages.writing import write_email
from readiness.models import Business, DefectItem, Message, Paper
from readiness.rules.calendar import calendar_of
from tests.factories import (
    confirm,
    make_contact,
    make_issued,
    make_photo,
    make_site,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def report(applicator, contact, site):
    """Issued to the contact, with its background work left undone."""
    return make_issued(
        applicator,
        site,
        kinds=("unfilled_joint", "dirty_brick"),
        notify=[contact.memberships.get()],
    )


def let_go(message) -> Message:
    """As if its papers were made."""
    waiting = Message.State.WAITING
    Message.objects.filter(pk=message.pk, state=Message.State.HELD).update(state=waiting)
    message.refresh_from_db()
    return message


def text_of(kind) -> str:
    """Send the one message of a kind and return its text."""
    message = let_go(Message.objects.get(kind=kind))
    tasks.send_message.call(str(message.pk))
    return mail.outbox[-1].body


def test_the_report_s_e_mail_waits_for_its_papers(report, contact):
    for paper in report.papers.all():
        assert not mail.outbox
        paper = errands.claim(Paper, paper.pk)
        tasks._store(paper, b"%PDF " + paper.kind.encode() + paper.trade.encode(), 1)
    tasks.send_message.call(str(Message.objects.get(kind="report_issued").pk))
    sent = mail.outbox[0]
    assert sent.to == [contact.email]
    assert sent.subject == f"2 things to fix: {report.site}"


def test_the_report_s_e_mail_says_what_where_whose_and_by_when(report):
    text = " ".join(text_of("report_issued").split())
    item = report.items.get(kind="unfilled_joint")
    assert item.required_fix in text
    assert "North wall, at 1 m" in text
    assert "Bricklayer, by" in text
    assert f"{item.due_on:%A} {item.due_on.day} December" in text
    assert f"/builder/sites/{report.site.pk}/" in text


def test_an_e_mail_is_text_and_html_with_the_same_link(report):
    text_of("report_issued")
    message = mail.outbox[0]
    html, mimetype = message.alternatives[0]
    assert mimetype == "text/html"
    link = f"/builder/sites/{report.site.pk}/"
    assert link in html
    assert link in message.body


def test_html_that_somebody_typed_stays_text(report, contact, applicator):
    item = report.items.first()
    fixes.disagree(contact, item, reason="<script>alert(1)</script>")
    text_of("item_disagreed")
    html, _ = mail.outbox[0].alternatives[0]
    assert "<script>" not in html
    assert "&lt;script&gt;" in html


def test_an_e_mail_goes_once(report):
    message = let_go(Message.objects.get(kind="report_issued"))
    tasks.send_message.call(str(message.pk))
    tasks.send_message.call(str(message.pk))
    assert len(mail.outbox) == 1


def test_an_outage_is_written_down_and_tried_again(report, monkeypatch):
    message = let_go(Message.objects.get(kind="report_issued"))

    def refuse(*args, **kwargs):
        raise ConnectionRefusedError("mail server away")

    with monkeypatch.context() as patch:
        patch.setattr("django.core.mail.backends.locmem.EmailBackend.open", refuse)
        tasks.send_message.call(str(message.pk))
    message.refresh_from_db()
    assert message.error == "the mail server does not answer."
    tasks.send_message.call(str(message.pk))
    assert not mail.outbox, "the next try is a minute later"
    with clock.at(message.next_try_at):
        tasks.send_message.call(str(message.pk))
    message.refresh_from_db()
    assert message.error == ""
    assert message.sent_at is not None


def failed(report) -> Message:
    message = Message.objects.get(kind="report_issued", site=report.site)
    Message.objects.filter(pk=message.pk).update(
        state=Message.State.GIVEN_UP, given_up_at=clock.now(), error="mail server away", attempts=7
    )
    message.refresh_from_db()
    return message


def test_the_applicator_sends_a_failed_e_mail_again(
    report, applicator, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        again = emails.retry_message(applicator, failed(report))
    tasks.send_message.call(str(again.pk))
    again.refresh_from_db()
    assert again.error == ""
    assert again.sent_at is not None
    assert len(mail.outbox) == 1


def test_a_lost_retry_is_found_again_even_if_it_waited_for_papers(report, applicator):
    again = emails.retry_message(applicator, failed(report))
    assert again in Message.objects.due(clock.now())


def test_an_e_mail_can_be_left_unsent(report, applicator, contact):
    message = failed(report)
    with pytest.raises(PermissionDenied):
        emails.drop_message(contact, message)
    assert emails.drop_message(applicator, message).state == Message.State.DROPPED
    tasks.send_message.call(str(message.pk))
    assert not mail.outbox


def test_an_e_mail_that_went_is_not_sent_again(report, applicator):
    message = let_go(Message.objects.get(kind="report_issued"))
    tasks.send_message.call(str(message.pk))
    sent_at = Message.objects.get(pk=message.pk).sent_at
    assert emails.retry_message(applicator, message).sent_at == sent_at
    assert len(mail.outbox) == 1


def test_only_the_applicator_sends_again(report, contact):
    message = failed(report)
    with pytest.raises(PermissionDenied):
        emails.retry_message(contact, message)
    message.refresh_from_db()
    assert message.error


def test_nothing_is_sent_again_to_somebody_who_left(report, applicator, contact):
    message = failed(report)
    contact.is_active = False
    contact.save()
    with pytest.raises(Refused, match="can't sign in any more"):
        emails.retry_message(applicator, message)


def test_somebody_who_left_is_not_written_to(report, contact):
    contact.is_active = False
    contact.save()
    message = let_go(Message.objects.get(kind="report_issued"))
    tasks.send_message.call(str(message.pk))
    assert not mail.outbox
    message.refresh_from_db()
    assert message.state == Message.State.DROPPED
    assert message.error == f"{contact} can't sign in any more."


def test_several_fixes_in_one_go_make_one_e_mail(report, contact, site):
    for item in report.items.all():
        fixes.report_fixed(contact, item, photos=[make_photo(site, contact)])
    assert "Unfilled mortar joint" in text_of("fix_said")
    assert "Dirty brick" in mail.outbox[0].body
    assert mail.outbox[0].subject == f"2 items reported fixed: {site}"


def test_only_contacts_who_can_see_the_site_are_written_to(applicator, builder, contact, site):
    elsewhere = make_site(builder)
    make_contact(builder, email="limited@wattle.example", sites=[elsewhere])
    report = make_issued(applicator, site)
    fixes.report_fixed(contact, report.items.get(), photos=[make_photo(site, contact)])
    fixes.accept_fix(applicator, report.items.get())
    assert [message.to for message in Message.objects.filter(kind="item_accepted")] == [contact]


def test_a_confirmed_booking_brings_a_calendar_entry_and_the_cautions(applicator, contact, site):
    confirm(contact, make_issued(applicator, site, kinds=()))
    day = calendar_of("NSW").add_working_days(clock.now().date() + timedelta(days=1), 1)
    offered = booking.offer_date(applicator, site, day=day, half="morning")
    booking.accept_offer(contact, offered)
    message = Message.objects.get(kind="booking_confirmed", to=contact)
    tasks.send_message.call(str(message.pk))
    sent = mail.outbox[-1]
    assert sent.attachments[0].filename == "treatment.ics"
    assert "safety data sheet" in " ".join(sent.body.split())


def test_the_link_of_an_e_mail_opens_the_page_that_it_names(applicator, contact, site):
    """ "Confirm readiness" and "See the offer" open just that, not the site's first page."""
    report = make_issued(applicator, site, kinds=(), notify=[contact.memberships.get()])
    assert f"Confirm readiness: {settings.SITE_URL}/builder/confirming/{site.pk}/" in text_of(
        "report_issued"
    )
    confirm(contact, report)
    day = calendar_of("NSW").add_working_days(clock.now().date() + timedelta(days=1), 1)
    booking.offer_date(applicator, site, day=day, half="morning")
    assert f"See the offer: {settings.SITE_URL}/builder/booking/sites/{site.pk}/" in text_of(
        "booking_offered"
    )


def test_nobody_is_told_of_a_site_that_was_closed_to_them_meanwhile(report, contact, applicator):
    message = let_go(Message.objects.get(kind="report_issued"))
    other = make_site(report.site.builder)
    rights.change_contact(
        applicator, contact.memberships.get(), position="Supervisor", sites=[other]
    )
    tasks.send_message.call(str(message.pk))
    message.refresh_from_db()
    assert message.state == Message.State.DROPPED
    assert "can't see this site" in message.error
    assert not mail.outbox


@pytest.mark.parametrize("stands", [True, False])
def test_a_decision_names_each_item_and_says_why(
    applicator, contact, site, mailoutbox, django_capture_on_commit_callbacks, stands
):
    for item in make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick")).items.all():
        fixes.disagree(contact, item, reason="It is paint.")
        with django_capture_on_commit_callbacks(execute=True):
            fixes.decide_disagreement(
                applicator, item, stands=stands, reason=f"Reason {item.number}."
            )
    body = " ".join(" ".join(message.body.split()) for message in mailoutbox)
    for item in DefectItem.objects.all():
        assert f"{item.number}. {item.kind_entry.name}" in body
        assert f"“Reason {item.number}.”" in body


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Brindle & Finch, Termites", '"Brindle & Finch, Termites" <noreply@portal.example>'),
        ("Your business", "Site readiness <noreply@portal.example>"),
    ],
)
def test_an_e_mail_is_from_the_business_by_name(applicator, contact, site, settings, name, shown):
    settings.DEFAULT_FROM_EMAIL = "Site readiness <noreply@portal.example>"
    Business.current()
    Business.objects.update(name=name)
    make_issued(applicator, site, notify=[contact.memberships.get()])
    message = Message.objects.get(kind="report_issued", to=contact)
    assert write_email(message).email.message()["From"] == shown
