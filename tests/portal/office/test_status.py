"""What the office is told of its portal: on its first screen when somebody has to act."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from readiness import clock
from readiness.models import LastDone, Message, Paper
from readiness.operations import health, upkeep
from tests.factories import make_issued, make_photo, make_site

pytestmark = pytest.mark.django_db

HOME, STATUS = reverse("office:home"), reverse("office:status")


def make_message(site, to, state="waiting", **fields):
    number = Message.objects.count()
    return Message.objects.create(
        **{
            "site": site,
            "to": to,
            "kind": "booking_asked",
            "about": site.pk,
            "key": f"k{number}",
            "queued_at": clock.now(),
            "state": state,
            **fields,
        }
    )


def make_paper(site, state="queued", **fields):
    return Paper.objects.create(
        site=site,
        kind=Paper.Kind.GUIDE,
        subject=f"guide/{Paper.objects.count()}",
        requested_at=clock.now(),
        state=state,
        **fields,
    )


def words(client_for, user, url):
    answer = client_for(user).get(url)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_a_portal_in_order_says_so_and_the_first_screen_says_nothing(
    client_for, applicator, site, contact
):
    LastDone.note("worker/here/1", beat=3)
    LastDone.note("backup")
    make_message(site, contact)  # just asked for: nothing late about it
    assert "All good: nothing is stuck." in words(client_for, applicator, STATUS)
    assert "Portal status" not in words(client_for, applicator, HOME)


def test_what_was_given_up_stands_on_the_first_screen(client_for, applicator, site, contact):
    make_message(site, contact, state="given_up", given_up_at=clock.now())
    make_paper(site, state="failed", given_up_at=clock.now())
    for page in (HOME, STATUS):
        text = words(client_for, applicator, page)
        assert "E-mails not sent" in text
        assert "Papers not made" in text
    assert "All good" not in text


def test_work_that_waits_for_a_worker_that_is_gone_is_said_once_and_plainly(
    client_for, applicator, site, contact
):
    with clock.at(clock.now() - timedelta(minutes=30)):
        LastDone.note("worker/here/1", beat=9)
        make_message(site, contact)
        make_paper(site)
    text = words(client_for, applicator, HOME)
    assert text.count("the background worker has stopped") == 1
    assert "the oldest has waited" not in text
    assert "Stopped, last seen" in words(client_for, applicator, STATUS)


def test_work_that_lags_behind_a_living_worker_is_said_too(client_for, applicator, site, contact):
    LastDone.note("worker/here/1", beat=9)
    with clock.at(clock.now() - timedelta(minutes=11)):
        make_message(site, contact)
    text = words(client_for, applicator, HOME)
    assert "1 e-mail to send: the oldest has waited over 10 minutes." in text


def test_an_old_back_up_is_said_and_none_at_all_only_of_a_portal_of_ones_own(
    client_for, applicator, settings
):
    assert "back-up" not in words(client_for, applicator, HOME)
    settings.EMBEDDED = False
    assert "No back-up has been made." in words(client_for, applicator, HOME)
    with clock.at(clock.now() - timedelta(days=3)):
        LastDone.note("backup")
    assert "No back-up in the last two days." in words(client_for, applicator, HOME)


def test_a_disk_that_fills_up_is_said_before_it_is_full(client_for, applicator, monkeypatch):
    monkeypatch.setattr(health, "disk", lambda: health.Disk(1_500_000_000, 9_000_000_000))
    assert "The disk is nearly full: 1.4 GB left." in words(client_for, applicator, HOME)


def test_papers_of_a_report_that_another_replaced_are_missed_by_nobody(applicator, site):
    old = make_issued(applicator, site)
    Paper.objects.filter(report=old).update(state="failed", given_up_at=clock.now(), claimed_by="")
    assert _of("papers").failed > 0
    make_issued(applicator, site)
    assert _of("papers").failed == 0


def test_photos_without_their_sizes_are_counted(site):
    photo = make_photo(site)
    assert (_of("photos").waiting, _of("photos").failed) == (1, 0)
    type(photo.original).objects.update(sizes_given_up_at=clock.now())
    assert (_of("photos").waiting, _of("photos").failed) == (0, 1)


def _of(kind):
    return next(queue for queue in upkeep.look().queues if queue.kind == kind)


def test_counting_takes_three_queries_however_much_there_is(site, contact):
    for _ in range(3):
        make_message(site, contact)
        make_paper(make_site())
    with CaptureQueriesContext(
        connection,
    ) as asked:
        upkeep.look()
    assert len(asked) == 3


def test_since_when_it_waits_is_said_of_what_waits_and_not_of_what_was_given_up(
    client_for, applicator, site, contact
):
    make_message(site, contact)
    make_message(site, contact, "given_up", given_up_at=clock.now(), next_try_at=None)
    page = words(client_for, applicator, reverse("office:status"))
    assert "1 e-mail to send, the oldest since" in page
    assert page.index("the oldest since") < page.index("1 could not be sent")


def test_a_backup_that_lacks_files_is_not_said_to_be_in_order(client_for, applicator):
    LastDone.note("worker/here/1", beat=3)
    LastDone.note("backup", missing=2)
    said = "The last back-up lacks 2 photos or papers"
    assert said in words(client_for, applicator, STATUS)
    assert said in words(client_for, applicator, HOME)
    LastDone.note("backup", missing=0)
    assert "All good: nothing is stuck." in words(client_for, applicator, STATUS)
