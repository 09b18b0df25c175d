"""Ranks come out another way only under another version: those that are stored are renewed by it.

A great many sites are ranked, of every kind that matters to a rank, and counted by rank.
"""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import product

from readiness.rules.site.assessment import BookingFacts, VisitFacts
from readiness.rules.site.priority import TREATED, VERSION, priority_of
from tests.rules.site.test_assessment import NOW, REPORT, confirmed, item, site

COUNTED = {3: (2379, 315, 1464, 689, 105, 2475, 2853, 320)}
"""By the version, how many of the sites below have each rank, from `OVERDUE` to `TREATED`."""

YESTERDAY, TOMORROW, LATER = date(2026, 3, 9), date(2026, 3, 11), date(2026, 3, 30)

STANDINGS = (
    {"due_on": YESTERDAY},
    {"due_on": TOMORROW},
    {"state": "sent_back"},
    {"state": "said_fixed"},
    {"disputed": True},
    {"state": "accepted", "cleaned_wet_at": NOW},
    {"effect": "applicator"},
    {"effect": "record", "state": None},
)
ITEMS = ((), *(many * (item(**stands),) for stands in STANDINGS for many in (1, 4, 12)))
REPORTS = (None, *(replace(REPORT, issued_at=NOW - timedelta(days=ago)) for ago in (3, 40, 400)))
CONFIRMATIONS = (
    None,
    confirmed(),
    confirmed(withdrawn_at=NOW),
    confirmed(ticked_run_ids=frozenset({"n"})),
    confirmed(confirmed_at=NOW - timedelta(days=30)),
)
BOOKINGS = (
    None,
    BookingFacts("asked"),
    BookingFacts("offered", YESTERDAY),
    BookingFacts("offered", TOMORROW),
    BookingFacts("confirmed", YESTERDAY),
    BookingFacts("confirmed", TOMORROW),
    BookingFacts("confirmed", LATER),
)
VISITS = (
    None,
    *(VisitFacts(how, YESTERDAY, NOW - timedelta(days=1)) for how in ("treated", "turned_away")),
)


def many_sites():
    for items, report, *rest in product(ITEMS, REPORTS, CONFIRMATIONS, BOOKINGS, VISITS):
        stated, booked, visit = rest
        yield site(*items, report=report, confirmation=stated, booking=booked, last_visit=visit)
    for rain_at, enough in product((None, NOW), (False, True)):
        for items in ITEMS:
            yield site(*items, rain_at=rain_at, reported_is_enough=enough)


def test_what_ranks_come_out_as_and_their_version_change_together():
    ranks = Counter(priority_of(facts).rank for facts in many_sites())
    found = {VERSION: tuple(ranks[rank] for rank in range(TREATED + 1))}
    assert found == COUNTED, (
        f"Ranks come out another way than under version {max(COUNTED)}, or that is not their "
        f"version any more. Raise VERSION in readiness/rules/site/priority.py, then write {found} "
        "into COUNTED in this file."
    )
