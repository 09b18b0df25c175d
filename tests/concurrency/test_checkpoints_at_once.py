"""Workers that make a checkpoint in the same moment make one."""

import pytest
from django.db import transaction

from readiness.evidence import checkpoints
from readiness.evidence.checkpoints import Reason
from readiness.evidence.record import append
from readiness.models import Checkpoint, Leaf, RecordEntry, SigningKey
from tests.concurrency.test_two_at_once import at_once, failures

pytestmark = pytest.mark.django_db(transaction=True)


def test_two_at_once_make_one(site):
    for number in range(3):
        with transaction.atomic():
            append(site, None, "levels_changed", {"number": number})
        made = at_once(*[lambda: checkpoints.make(Reason.DAILY)] * 3)
        assert failures(made) == []
        assert {one.number for one in made} == {number + 1}
    assert Checkpoint.objects.count() == 3
    assert SigningKey.objects.count() == 1
    assert list(Leaf.objects.values_list("position", flat=True)) == [0, 1, 2]


def test_entries_that_are_written_meanwhile_are_placed_once(site):
    def write():
        for number in range(10):
            with transaction.atomic():
                append(site, None, "levels_changed", {"number": number})

    def sign():
        for _ in range(10):
            checkpoints.make(Reason.ISSUED)

    assert failures(at_once(write, sign, sign)) == []
    last = checkpoints.make(Reason.DAILY)
    assert last.size == RecordEntry.objects.count() == 10
    assert list(Leaf.objects.values_list("position", flat=True)) == list(range(10))
