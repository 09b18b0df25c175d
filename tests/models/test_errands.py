"""Messages and papers in the database: what its checks refuse, and that looking is cheap."""

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from readiness import clock
from readiness.models import Message, Original, Paper
from tests.factories import make_issued, make_photo

pytestmark = pytest.mark.django_db

NOW = clock.now()


@pytest.fixture
def message(applicator, contact, site) -> Message:
    make_issued(applicator, site, notify=[contact.memberships.get()])
    return Message.objects.get()


def refused(rows, **changes) -> bool:
    try:
        with transaction.atomic():
            rows.update(**changes)
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "sent"},
        {"state": "given_up"},
        {"state": "sending"},
        {"sent_at": NOW},
        {"given_up_at": NOW},
        {"claimed_by": "somebody"},
        {"state": "sent", "sent_at": NOW, "given_up_at": NOW},
        {"state": "given_up", "sent_at": NOW, "given_up_at": NOW},
        {"state": "sending", "claimed_by": "somebody", "sent_at": NOW},
        {"to": None},
    ],
)
def test_a_message_is_never_in_two_states(message, changes):
    assert refused(Message.objects.all(), **changes)


@pytest.mark.parametrize(
    "changes",
    [
        {"state": "making"},
        {"state": "failed"},
        {"state": "made"},
        {"claimed_by": "somebody"},
        {"given_up_at": NOW},
        {"state": "made", "digest": "a" * 64, "made_at": NOW, "given_up_at": NOW},
    ],
)
def test_a_paper_is_never_in_two_states(message, changes):
    assert refused(Paper.objects.all(), **changes)


@pytest.fixture
def many(message, site):
    """Years of messages, papers and photos that are done, and few that are not."""
    Message.objects.bulk_create(
        Message(
            site=site, to=message.to, kind="fix_said", about=uuid.uuid4(), key=str(number),
            queued_at=NOW, state="sent", sent_at=NOW,
        )
        for number in range(1000)
    )  # fmt: skip
    Paper.objects.bulk_create(
        Paper(
            site=site, kind="guide", subject=f"guide/{number}", requested_at=NOW, state="made",
            digest="a" * 64, made_at=NOW,
        )
        for number in range(1000)
    )  # fmt: skip
    Original.objects.bulk_create(
        Original(
            digest=f"{number:064d}", byte_size=1, media_type="image/jpeg", width_px=1, height_px=1,
            sizes_made_at=NOW,
        )
        for number in range(1000)
    )  # fmt: skip
    make_photo(site)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


LOOKS = {
    "message_to_send": lambda: Message.objects.due(clock.now()).order_by("next_try_at"),
    "message_held": lambda: Message.objects.released(clock.now()),
    "message_under_way": lambda: Message.objects.under_way(),
    "message_given_up": lambda: Message.objects.failed().order_by("given_up_at"),
    "message_about": lambda: Message.objects.filter(about=uuid.uuid4()),
    "paper_to_make": lambda: Paper.objects.due(clock.now()).order_by("next_try_at"),
    "paper_under_way": lambda: Paper.objects.under_way(),
    "paper_given_up": lambda: Paper.objects.failed().order_by("given_up_at"),
    "original_without_sizes": lambda: Original.objects.sizes_due(clock.now()),
}


def test_looking_for_work_reads_what_is_left_to_do_and_not_what_is_done(many):
    plans = {index: look().explain() for index, look in LOOKS.items()}
    assert {index: plan for index, plan in plans.items() if index not in plan} == {}


def test_the_office_s_first_page_reads_no_more_either(many):
    for model in (Message, Paper):
        name = model.__name__.lower()
        plan = model.objects.troubled().explain()
        assert f"{name}_given_up" in plan
        assert f"{name}_to_" in plan


def test_what_waits_and_what_failed_can_be_counted(message):
    assert list(Message.objects.waiting()) == [message]
    assert Message.objects.waiting().oldest() == message.queued_at
    assert Message.objects.failed().oldest() is None
    assert Paper.objects.waiting().count() == 3
    Paper.objects.update(state="failed", given_up_at=clock.now())
    assert Paper.objects.failed().count() == 3
    assert Paper.objects.failed().oldest() == Paper.objects.order_by("requested_at")[0].requested_at
    assert not Paper.objects.waiting().exists()


def test_a_first_try_is_due_whatever_the_clocks_say(message):
    """Of the web machine that asked, and of the worker."""
    Message.objects.update(state="waiting", next_try_at=clock.now() + timedelta(hours=1))
    assert message in Message.objects.due(clock.now())
    Message.objects.update(attempts=1)
    assert message not in Message.objects.due(clock.now())
    assert message in Message.objects.due(clock.now() + timedelta(hours=1))
