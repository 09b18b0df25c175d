"""An item as the builder's pages show it, and how items are grouped."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Prefetch, prefetch_related_objects
from django.utils.translation import gettext as _

from readiness.facts import SiteState, report_values
from readiness.models import DefectItem, Fix, Photo, WallRun
from readiness.rules.defects.catalogue import TRADES, check_measurement, place
from readiness.rules.vocabulary import TO_DO, Effect, ItemState
from readiness.rules.words import metres
from readiness.wording import dates
from readiness.wording.due import to_fix_words
from readiness.wording.measurements import measurement

NARROWEST_MARK = 2.5
WALL_WIDTH = 100


@dataclass(eq=False)
class ItemCard:
    """One item with its photos and fixes, and the words that go with its place, date and state.

    A card that is only counted or sorted is left bare: `fill` reads its photos and fixes.
    """

    item: DefectItem
    today: date
    photos: list[Photo] = field(default_factory=list)
    fixes: list[Fix] = field(default_factory=list)
    measured: str = ""

    @property
    def name(self) -> str:
        return self.item.kind_entry.name

    @property
    def look(self) -> str:
        """The classes of its card beside those that every card has."""
        names = ("is-overdue" if self.overdue else "", "" if self.photos else "no-photo")
        return " ".join(filter(None, names))

    @property
    def where(self) -> str:
        """The wall and the place along it, in words."""
        return place(self.item.wall_run.label, self.item.from_mm, self.item.to_mm)

    @property
    def trade_name(self) -> str:
        return TRADES[self.item.trade]

    @property
    def is_to_do(self) -> bool:
        """The builder has to fix it: not reported fixed, and not disputed."""
        return self.can_report_fixed and not self.item.is_disputed

    @property
    def can_report_fixed(self) -> bool:
        item = self.item
        return item.effect == Effect.HOLDS and item.state in TO_DO and item.report.is_current

    @property
    def is_open(self) -> bool:
        return self.item.effect == Effect.HOLDS and self.item.state != ItemState.ACCEPTED

    @property
    def overdue(self) -> bool:
        due = self.item.due_on
        return self.is_to_do and due is not None and due < self.today

    @property
    def due_words(self) -> str:
        due = self.item.due_on
        if due is None or not self.is_to_do:
            return ""
        if self.overdue:
            return _("Overdue since %(day)s") % {"day": dates.day_of_month(due)}
        return _("Due %(day)s") % {"day": dates.long_day(due)}

    @property
    def open_fix(self) -> Fix | None:
        """The fix that was reported and is not reviewed yet."""
        return next((fix for fix in self.fixes if fix.is_open), None)

    @property
    def last_review(self) -> Fix | None:
        return next((fix for fix in self.fixes if fix.outcome), None)

    @property
    def sent_back(self) -> Fix | None:
        """The review that sent it back, until it is reported fixed again."""
        review = self.last_review
        return review if self.item.state == ItemState.SENT_BACK and review else None

    @property
    def has_been_answered(self) -> bool:
        """It was reported fixed, reviewed or disputed since the report."""
        item = self.item
        return bool(self.fixes or item.disputed_at is not None or item.decided_at is not None)

    @property
    def decision_words(self) -> str:
        """What was decided about a dispute."""
        if self.item.decision == DefectItem.Decision.STANDS:
            return _("We decided: the item stays")
        return _("We decided: item withdrawn, no action needed")

    @property
    def can_disagree(self) -> bool:
        return self.is_open and not self.item.is_disputed and self.item.report.is_current

    @property
    def asks_for_washing(self) -> bool:
        """Whether the fix may have wetted the wall, so that drying time starts then."""
        return self.item.kind_entry.wets_wall

    @property
    def strip(self) -> dict | None:
        """Where the item lies on a wall drawn 100 wide; None where no distance was given."""
        item, length = self.item, self.item.wall_run.length_mm
        if item.from_mm is None:
            return None
        start = WALL_WIDTH * item.from_mm / length
        end = WALL_WIDTH * (item.to_mm if item.to_mm is not None else item.from_mm) / length
        width = max(end - start, NARROWEST_MARK)
        start = min(max(start if end - start >= width else (start + end - width) / 2, 0),
                    WALL_WIDTH - width)  # fmt: skip
        return {"x": round(start, 2), "width": round(width, 2), "length": metres(length)}


@dataclass
class Group:
    """Items under one heading. `trade` is set where the list can be shared with that trade,
    `note` where something is said below the heading.

    A long list shows the first `shown` cards; the others come when they are asked for. The rest is
    how its cards look: what can be done, the trade, or no more than how the item stands.
    """

    title: str
    key: str
    cards: list[ItemCard] = field(default_factory=list)
    note: str = ""
    trade: str = ""
    shown: int | None = None
    with_actions: bool = False
    with_trade: bool = False
    brief: bool = False

    @property
    def cards_shown(self) -> list[ItemCard]:
        return self.cards[: self.shown]

    @property
    def last_shown(self) -> str:
        """The id of the item after which the others follow; "" where none is shown."""
        return str(self.cards_shown[-1].item.pk) if self.cards_shown else ""

    @property
    def left(self) -> int:
        """How many are not shown."""
        return len(self.cards) - len(self.cards_shown)

    @property
    def show_the_rest(self) -> str:
        """The words of the button for those that are not shown."""
        if self.shown:
            return _("Show %(count)d more") % {"count": self.left}
        return _("Show all %(count)d") % {"count": self.left}

    @property
    def left_words(self) -> str:
        fresh = [card.item.due_on for card in self.cards if card.item.state != ItemState.SENT_BACK]
        back = [card.item.due_on for card in self.cards if card.item.state == ItemState.SENT_BACK]
        return to_fix_words(fresh, back, self.cards[0].today)


def cards_for(items: Iterable[DefectItem], today) -> list[ItemCard]:
    """Cards of items that have their wall run at hand, in a constant number of queries."""
    cards = bare_cards(items, today)
    fill(cards)
    return cards


def bare_cards(items: Iterable[DefectItem], today) -> list[ItemCard]:
    """Cards without photos and fixes."""
    return [ItemCard(item, today) for item in items]


def fill(cards: Iterable[ItemCard]) -> None:
    """Read photos, fixes and who disputes, for all cards at once."""
    cards = list(cards)
    kept = Photo.objects.kept().with_originals().defer("original__metadata")
    prefetch_related_objects(
        [card.item for card in cards],
        "disputed_by",
        Prefetch("photos", kept),
        Prefetch("fixes", Fix.objects.select_related("said_by", "reviewed_by")),
        Prefetch("fixes__photos", kept),
    )
    measured = _Measured()
    for card in cards:
        card.photos, card.fixes = list(card.item.photos.all()), list(card.item.fixes.all())
        card.measured = measured.words(card.item)


class _Measured:
    """What was measured, held against the rule values that its report was issued with."""

    def __init__(self):
        self.values: dict = {}

    def words(self, item: DefectItem) -> str:
        if item.measured_value is None:
            return ""
        if item.report_id not in self.values:
            self.values[item.report_id] = report_values(item.report)
        check = check_measurement(item.kind_entry, item.measured_value, self.values[item.report_id])
        if check is None:
            return ""
        from_photo = item.measured_from == DefectItem.MeasuredFrom.PHOTO
        doubt = {"mm": item.measured_uncertainty}
        how = f" {_('Measured on a photo, ± %(mm)s mm.') % doubt}" if from_photo else ""
        return measurement(check) + how


def card_of(item: DefectItem, today) -> ItemCard:
    return cards_for([item], today)[0]


def by_trade(cards: Iterable[ItemCard]) -> list[Group]:
    """Items to fix by trade: overdue ones first, then the longest list; by due date in each."""
    groups: dict[str, Group] = {}
    for card in cards:
        trade = card.item.trade
        if trade not in groups:
            groups[trade] = Group(TRADES[trade], trade, trade=trade, with_actions=True)
        groups[trade].cards.append(card)
    for group in groups.values():
        group.cards.sort(key=lambda card: (card.item.due_on or date.max, card.item.number))
    return sorted(groups.values(), key=_urgency)


def _urgency(group: Group):
    return not any(card.overdue for card in group.cards), -len(group.cards), group.title


def by_wall(cards: Iterable[ItemCard]) -> list[Group]:
    """Items to fix by wall, in order round the house and then along the wall."""
    groups: dict[str, Group] = {}
    walls: dict[str, WallRun] = {}
    for card in cards:
        run = card.item.wall_run
        walls[str(run.pk)] = run
        if str(run.pk) not in groups:
            groups[str(run.pk)] = Group(run.label, str(run.pk), with_actions=True, with_trade=True)
        groups[str(run.pk)].cards.append(card)
    for group in groups.values():
        group.cards.sort(key=lambda card: (card.item.from_mm or 0, card.item.number))
    return [groups[key] for key in sorted(groups, key=lambda key: walls[key].position)]


@dataclass
class ItemLists:
    """A report's items, told apart by what they ask of the builder."""

    open: list[ItemCard]
    done: list[ItemCard]
    applicator: list[ItemCard]
    record: list[ItemCard]

    @classmethod
    def of(cls, cards: list[ItemCard]) -> "ItemLists":
        holding = [card for card in cards if card.item.effect == Effect.HOLDS]
        return cls(
            open=[card for card in holding if card.is_open],
            done=[card for card in holding if not card.is_open],
            applicator=[card for card in cards if card.item.effect == Effect.ON_THE_DAY],
            record=[card for card in cards if card.item.effect == Effect.RECORD],
        )

    @property
    def to_do(self) -> list[ItemCard]:
        return [card for card in self.open if card.is_to_do]

    @property
    def waiting(self) -> list[ItemCard]:
        """Reported fixed or disputed: the applicator's turn."""
        return [card for card in self.open if not card.is_to_do]


def cards_of_state(state: SiteState) -> list[ItemCard]:
    """All items of a site's current report."""
    return cards_for(state.items, state.facts().today)
