"""What failed in the background stands where the office looks; no page says that all is well."""

from datetime import timedelta

import pytest
from django.urls import reverse

from readiness import clock, errands
from readiness.actions.people import inviting
from readiness.models import Message, Paper
from tests.factories import make_builder, make_contact, make_issued, make_site

pytestmark = pytest.mark.django_db

HOME = reverse("office:home")


@pytest.fixture
def report(applicator, contact, site):
    return make_issued(applicator, site, notify=[contact.memberships.get()])


@pytest.fixture
def page(client_for, applicator):
    """`page(url)`: what the office reads there, without line breaks."""
    client = client_for(applicator)
    return lambda url: " ".join(client.get(url).content.decode().split())


def made(paper: Paper) -> None:
    Paper.objects.filter(pk=paper.pk).update(
        state="made",
        given_up_at=None,
        made_at=clock.now(),
        digest="a" * 64,
        pages=1,
        byte_size=1000,
    )


def failed(thing, **changes) -> None:
    type(thing).objects.filter(pk=thing.pk).update(
        state=thing.GIVEN_UP,
        given_up_at=clock.now(),
        attempts=4,
        started_at=clock.now(),
        error="It broke.",
        **changes,
    )


def stumbles(thing, at) -> None:
    claimed = errands.claim(type(thing), thing.pk)
    with clock.at(at):
        errands.again(claimed, "It broke.")


def where(report) -> tuple[str, str]:
    return (
        reverse("office:issued", args=[report.pk]),
        reverse("papers:site", args=[report.site_id]),
    )


def test_no_page_says_that_all_papers_are_made_above_one_that_failed(page, report):
    """The page of the issued report did: it counted what failed as made."""
    first, *rest = report.papers.all()
    for paper in rest:
        made(paper)
    failed(first)
    issued, papers = where(report)
    text = page(issued)
    assert "All papers are made" not in text
    assert "1 of 3 papers could not be made." in text
    assert 'value="2"' in text
    assert "1 paper of 3 could not be made." in page(papers)
    made(first)
    assert "All papers are made" in page(issued)


def test_a_page_with_a_failed_paper_and_one_on_its_way_says_both(page, report):
    first, second, _ = report.papers.all()
    failed(first)
    made(second)
    assert "1 of 3 papers made … 1 could not be made." in page(where(report)[0])


def test_a_page_looks_again_soon_only_while_something_moves(page, report):
    issued, papers = where(report)
    assert "every 2s" in page(issued)
    for paper in report.papers.all():
        stumbles(paper, clock.now())
    Message.objects.update(state=Message.State.SENT, sent_at=clock.now())
    assert "every 60s" in page(issued)
    assert "every 60s" in page(papers)


def test_what_failed_stands_on_the_first_page_with_why_and_a_button(page, report, contact):
    assert "E-mails not sent" not in page(HOME)
    message, paper = Message.objects.get(), report.papers.first()
    failed(message)
    failed(paper)
    for url in (HOME, reverse("office:site", args=[report.site_id])):
        text = page(url)
        assert "E-mails not sent" in text
        assert f"{contact} ({contact.email})" in text
        assert "Not sent: It broke." in text
        assert "It will not be tried again automatically." in text
        assert reverse("office:email_retry", args=[message.pk]) in text
        assert "Papers not made" in text
        assert reverse("papers:retry", args=[paper.pk]) in text
        assert "Nothing waits on us" not in text


def test_what_is_tried_again_says_since_when_and_when_next(page, report):
    now = clock.now()
    Message.objects.update(state=Message.State.WAITING, next_try_at=now)
    stumbles(Message.objects.get(), now)
    stumbles(report.papers.first(), now)
    text = page(HOME)
    assert "Not sent yet: It broke. Waiting since" in " ".join(text.replace("</span>", "").split())
    assert text.count("Next attempt at") == 2
    assert "Try now" in text


def test_a_double_that_may_be_is_said(page, report):
    url = reverse("office:emails", args=[report.site_id])
    message = Message.objects.all()
    message.update(
        state=Message.State.SENT, sent_at=clock.now(), attempts=2, unsure=1, next_try_at=None
    )
    assert "It may have arrived twice" in page(url)
    message.update(
        state=Message.State.GIVEN_UP, sent_at=None, given_up_at=clock.now(), error="it broke off."
    )
    assert "It may have arrived anyway." in page(url)
    message.update(state=Message.State.SENT, sent_at=clock.now(), given_up_at=None, unsure=0)
    assert "may have" not in page(url)


def test_an_e_mail_that_is_not_to_go_leaves_the_first_page(page, client_for, applicator, report):
    message = Message.objects.get()
    failed(message)
    drop = reverse("office:email_drop", args=[message.pk])
    assert drop in page(HOME)
    answer = client_for(applicator).post(drop, follow=True)
    assert "will not be sent" in answer.content.decode()
    assert "E-mails not sent" not in page(HOME)
    emails = page(reverse("office:emails", args=[report.site_id]))
    assert "Not sent, no longer needed: It broke." in emails


def test_an_invitation_that_did_not_go_leads_to_where_it_is_sent_again(
    page, applicator, builder, site
):
    inviting.invite_contact(applicator, builder, "new@wattle.example")
    failed(Message.objects.get())
    text = page(HOME)
    assert "Invitation" in text
    assert reverse("office:builder", args=[builder.pk]) in text


def test_a_failed_paper_of_a_report_that_was_replaced_is_nobody_s_trouble(page, report):
    failed(report.papers.first())
    assert "Papers not made" in page(HOME)
    type(report).objects.filter(pk=report.pk).update(superseded_at=clock.now())
    assert "Papers not made" not in page(HOME)


def test_an_e_mail_that_did_not_go_can_be_sent_again_from_the_page_of_its_report(page, report):
    message = Message.objects.get()
    failed(message)
    text = page(reverse("office:issued", args=[report.pk]))
    assert reverse("office:email_retry", args=[message.pk]) in text
    assert reverse("office:email_drop", args=[message.pk]) in text


def test_builders_read_nothing_of_it(client_for, contact, report):
    failed(Message.objects.get())
    text = client_for(contact).get(reverse("builder:site", args=[report.site_id])).content.decode()
    assert "It broke" not in text
    retry = reverse("office:email_drop", args=[Message.objects.get().pk])
    assert client_for(contact).post(retry).status_code == 404
    assert Message.objects.get().state == Message.State.GIVEN_UP


def test_what_was_given_up_stands_before_what_is_tried_again(page, report, applicator, builder):
    inviting.invite_contact(applicator, builder, "new@wattle.example")
    waits, given_up = Message.objects.get(kind="invitation"), Message.objects.get(to__isnull=False)
    stumbles(waits, clock.now())
    failed(given_up)
    text = page(HOME)
    assert text.index("Not sent: It broke.") < text.index("Not sent yet: It broke.")


def test_there_are_never_more_rows_than_fit(page, applicator, builder):
    for _ in range(12):
        other = make_builder()
        made_for = make_contact(other)
        make_issued(applicator, make_site(other), notify=[made_for.memberships.get()])
    for message in Message.objects.all():
        failed(message)
    text = page(HOME)
    assert text.count("Not sent: It broke.") == 10
    assert "There are more, not shown here." in text


def test_the_latest_e_mail_about_an_invitation_counts(page, applicator, builder):
    url = reverse("office:builder", args=[builder.pk])
    first = inviting.invite_contact(applicator, builder, "new@wattle.example")
    failed(Message.objects.get())
    assert "Not sent: It broke." in page(url)
    with clock.at(clock.now() + timedelta(minutes=1)):
        inviting.resend_invitation(applicator, first)
    assert "Not sent: It broke." not in page(url)
    assert "Waiting since" in page(url)
