"""The first rows of what waits: the short way finds what grouping every item would."""

import itertools
import random
from datetime import UTC, datetime, timedelta

import pytest
from django.db.models import F

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.models import DefectItem, waiting
from readiness.models.local_days import LocalDays
from tests.factories import make_issued, make_photo

TODAY = LocalDays.at(datetime(2026, 11, 25, 2, tzinfo=UTC))
KINDS = ("mortar_drop", "dirty_brick", "wet_brick")


@pytest.fixture
def items(applicator):
    """Seven sites with three items each, in a jumble of states, times and due dates."""
    rng = random.Random(7)
    for _ in range(7):
        for item in make_issued(applicator, kinds=KINDS).items.all():
            changed = datetime(2026, 11, 1, tzinfo=UTC) + timedelta(hours=rng.randrange(400))
            disputed = rng.random() < 0.25
            since = changed + timedelta(hours=rng.randrange(200))
            DefectItem.objects.filter(pk=item.pk).update(
                state=rng.choice(["to_fix", "said_fixed", "sent_back", "accepted"]),
                state_changed_at=changed,
                disputed_at=since if disputed else None,
            )
    return DefectItem.objects.current()


def test_the_first_rows_are_those_of_all_items_grouped(items, monkeypatch):
    review = items.awaiting_review().counts_by_site(TODAY).order_by("oldest", "report__site")
    builders = items.awaiting_builder().counts_by_site(TODAY)
    builders = builders.order_by(F("first_due").asc(nulls_last=True), "oldest", "report__site")

    assert review.count() > 3
    for read_a_site, at_most in itertools.product([1, 2, 25], [1, 2, 3, 7, 20]):
        monkeypatch.setattr(waiting, "ITEMS_READ_A_SITE", read_a_site)
        how = f"the first {at_most}, {read_a_site} items read a site"
        assert waiting.to_review(TODAY, at_most) == list(review[:at_most]), how
        assert _firsts(waiting.on_builders(TODAY, at_most)) == _firsts(builders[:at_most]), how


def _firsts(rows):
    """Sites that are due on one day may come in any order among the first."""
    return [row["first_due"] for row in rows]


def test_an_item_without_a_due_date_comes_last_and_is_not_lost(applicator):
    undated = make_issued(applicator, kinds=KINDS[:1], treatment_wanted_on=None)
    undated.site.__class__.objects.filter(pk=undated.site_id).update(treatment_wanted_on=None)
    dated = make_issued(applicator, kinds=KINDS[:1])

    rows = waiting.on_builders(TODAY, 5)

    assert [row["report__site"] for row in rows] == [dated.site_id, undated.site_id]
    assert rows[1]["first_due"] is None


def test_nothing_waits_where_there_are_no_items(db):
    assert waiting.to_review(TODAY, 5) == []
    assert waiting.on_builders(TODAY, 5) == []


def test_a_dispute_waits_since_its_own_day(applicator, contact, site):
    """Not since the item was written down, however long ago that was."""
    with clock.at(datetime(2026, 11, 20, 0, 0, tzinfo=UTC)):
        report = make_issued(applicator, site, kinds=KINDS[:1])
    with clock.at(datetime(2026, 11, 23, 4, 0, tzinfo=UTC)):
        fixes.disagree(contact, report.items.get(), reason="It is paint.")
    [row] = waiting.to_review(TODAY, 5)
    assert row["oldest"] == datetime(2026, 11, 23, 4, 0, tzinfo=UTC)


def test_a_fix_waits_since_it_was_reported_also_in_a_later_report(applicator, contact, site):
    with clock.at(datetime(2026, 11, 20, 0, 0, tzinfo=UTC)):
        item = make_issued(applicator, site, kinds=KINDS[:1]).items.get()
    with clock.at(datetime(2026, 11, 22, 4, 0, tzinfo=UTC)):
        fixes.report_fixed(contact, item, photos=[make_photo(site, contact)])
    with clock.at(datetime(2026, 11, 24, 0, 0, tzinfo=UTC)):
        make_issued(applicator, site, kinds=(), carry_over=[item])
    [row] = waiting.to_review(TODAY, 5)
    assert row["oldest"] == datetime(2026, 11, 22, 4, 0, tzinfo=UTC)
