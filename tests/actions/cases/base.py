"""The cast of the cases, how one is noted, and the data that many entries share."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from readiness.actions.fixing import fixes
from readiness.actions.visits import booking
from readiness.models import User
from tests.factories import (
    confirm,
    make_draft,
    make_issued,
    make_photo,
)

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
"""A Monday, 11 in the morning in New South Wales."""

MONDAY, FRIDAY = date(2026, 11, 23), date(2026, 11, 27)

ARROW = {"kind": "arrow", "from": [0.1, 0.1], "to": [0.5, 0.5]}
BLUR = {"kind": "blur", "box": [0.25, 0.25, 0.5, 0.5]}
MARKS = {
    "corners": [[0.2, 0.2], [0.6, 0.2], [0.6, 0.6], [0.2, 0.6]],
    "start": [0.3, 0.3],
    "end": [0.3, 0.5],
    "version": 2,
    "wanted": "distance",
    "direction": "straight",
    "set": [{"shown_px": 358, "zoom": 8.0, "loupe": True}] * 6,
    "reference": {"kind": "known", "width_mm": 400, "height_mm": 400, "tolerance_mm": 1},
}

MAIL, PAPER, RANKS = "send_message", "make_paper", "renew_ranks"
CHECKPOINT = "make_checkpoint"

Entries = Callable[[Any], Iterable[dict]]
"""From what the action returned to the data of each entry that it has to leave, in their order."""


@dataclass
class Cast:
    """Whom the cases act with; the site has four walls and nothing is written about it."""

    applicator: User
    contact: User
    builder: Any
    site: Any

    def issued(self, kinds=("mortar_drop",), **fields):
        return make_issued(self.applicator, self.site, kinds, **fields)

    def item(self, **fields):
        return self.issued(**fields).items.get()

    def photo(self, **fields):
        return make_photo(self.site, self.applicator, **fields)

    def fixed(self, **fields):
        item = self.item()
        fix = fixes.report_fixed(self.contact, item, photos=[self.photo()], **fields)
        return item, fix

    def draft(self):
        return make_draft(self.applicator, self.site)

    def wall(self):
        return self.site.wall_runs.order_by("position").first()

    def confirmed(self):
        return confirm(self.contact, self.issued(kinds=()))

    def offered(self, day=FRIDAY):
        return booking.offer_date(self.applicator, self.site, day=day, half="morning")

    def booked(self, day=FRIDAY):
        """A site that is ready, with a day agreed on; returns the booking."""
        self.confirmed()
        return booking.accept_offer(self.contact, self.offered(day))


THEMSELVES = "whom the action made"


@dataclass(frozen=True)
class Case:
    """An action to do, by whom; the entries that have to be there then, and what was handed on."""

    do: Callable[[], Any]
    actor: User | str | None
    entries: Entries = lambda _made: []
    handed_on: list[str] = field(default_factory=list)


CASES: dict[tuple[Callable, tuple[str, ...]], Callable[[Cast], Case]] = {}
"""By the action and the verbs of its entries, in their order."""


def case(action: Callable, *verbs: str):
    """Note a function of the cast as the case of an action that leaves entries of these verbs."""

    def note(arrange: Callable[[Cast], Case]):
        assert (action, verbs) not in CASES
        CASES[action, verbs] = arrange
        return arrange

    return note


def ids(thing, *names: str) -> dict:
    """Ids of things that hang on `thing`, as the Record has them."""
    return {name: str(getattr(thing, f"{name}_id")) for name in names}


def about(item) -> dict:
    return {"item": str(item.pk), "report": str(item.report_id), "number": item.number}


def as_found(item, **changed) -> dict:
    found = {"kind": item.kind, "wall": str(item.wall_run_id), "effect": item.effect}
    return {**about(item), **found, "measured": item.measured_value, **changed}


def of(photo) -> dict:
    return {"photo": str(photo.pk), "sha256": photo.original_id}
