"""What readiness is worked out from, and the shape of the answer: plain data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from zoneinfo import ZoneInfo

from readiness.rules.band.geometry import WallRun, apart
from readiness.rules.band.notes import LineNote
from readiness.rules.codes import Code
from readiness.rules.defects.catalogue import get_kind
from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.vocabulary import (
    GO_ON,
    BookingState,
    Effect,
    ItemState,
    Outcome,
    ReferralKind,
    Trade,
)

CONFIRMATION = "confirmation"
BOOKING = "booking"
BOTH = frozenset({CONFIRMATION, BOOKING})
BOOKING_ONLY = frozenset({BOOKING})


@dataclass(frozen=True)
class ItemFacts:
    """One defect item as it stands. `state` is None for record-only items."""

    id: str
    number: int
    run_id: str
    kind: str
    effect: str = Effect.HOLDS
    state: str | None = ItemState.TO_FIX
    from_mm: int | None = None
    to_mm: int | None = None
    measured_value: int | Decimal | None = None
    trade: str = Trade.BUILDER
    due_on: date | None = None
    disputed: bool = False
    cleaned_wet_at: datetime | None = None
    issued_at: datetime | None = None


@dataclass(frozen=True)
class CheckFacts:
    """A wall run that someone looked at, and when."""

    run_id: str
    checked_at: datetime | None = None


@dataclass(frozen=True)
class ReportFacts:
    """The site's current report; `issued_at` is None for a draft."""

    number: int | None
    issued_at: datetime | None
    checks: tuple[CheckFacts, ...] = ()


@dataclass(frozen=True)
class ConfirmationFacts:
    """The builder contact's latest statement. `valid_until` None means: by the rule value."""

    confirmed_at: datetime
    report_number: int
    valid_until: datetime | None = None
    withdrawn_at: datetime | None = None
    ticked_run_ids: frozenset[str] = frozenset()


@dataclass(frozen=True)
class BookingFacts:
    """A booking that was asked for, offered or confirmed. `treat_at` is its start, if known.

    `was_asked` is False where we offered a day that nobody had asked for: if it is turned down, the
    booking waits for another offer all the same. `was_put_off`: so it does because its day was put
    off.
    """

    state: str
    treat_on: date | None = None
    treat_at: datetime | None = None
    was_asked: bool = True
    was_put_off: bool = False


@dataclass(frozen=True)
class VisitFacts:
    """How the latest visit that took place ended: treated, or turned away and why (`note`).

    `day` is the booked day, `closed_at` when it was recorded and the builder told.
    """

    state: str
    day: date
    closed_at: datetime
    note: str = ""


@dataclass(frozen=True)
class ReferralFacts:
    """What was found and only a licensed technician decides; `outcome` is None until they have.

    Without distances it is the whole wall; live termites may be on no wall.
    """

    id: str
    kind: str
    noted_at: datetime
    run_id: str | None = None
    from_mm: int | None = None
    to_mm: int | None = None
    cause: str = ""
    outcome: str | None = None
    decided_at: datetime | None = None

    @property
    def keeps_closed(self) -> bool:
        """Live termites of which no decision says yet that work may go on."""
        return self.kind == ReferralKind.LIVE_TERMITES and self.outcome not in GO_ON

    @property
    def bars_wall(self) -> bool:
        """Nobody can reach the wall, as far as anybody has said."""
        return self.kind == ReferralKind.NO_ACCESS and self.outcome != Outcome.CAN_BE_REACHED


@dataclass(frozen=True)
class SiteFacts:
    """All that the answer depends on. Times carry a zone; `zone` is the site's own (IANA)."""

    runs: tuple[WallRun, ...]
    report: ReportFacts | None
    now: datetime
    items: tuple[ItemFacts, ...] = ()
    confirmation: ConfirmationFacts | None = None
    booking: BookingFacts | None = None
    last_visit: VisitFacts | None = None
    referrals: tuple[ReferralFacts, ...] = ()
    rain_at: datetime | None = None
    zone: str = "Australia/Sydney"
    reported_is_enough: bool = False
    check_levels: bool = True
    values: RuleValues = field(default_factory=RuleValues.defaults)
    kinds: Mapping[str, DefectKind] = field(default_factory=dict)

    def kind(self, slug: str) -> DefectKind:
        """A kind of defect: as it was kept with the report, or as it is today."""
        return self.kinds.get(slug) or get_kind(slug)

    @cached_property
    def walls(self) -> tuple[WallRun, ...]:
        """The runs, with the stretches of them that nobody can reach."""
        return with_bars(self.runs, self.referrals)

    @property
    def walls_asked(self) -> tuple[WallRun, ...]:
        """Those to be checked and confirmed: somebody can reach some of them."""
        return tuple(wall for wall in self.walls if wall.reachable_mm)

    @property
    def are_termites_open(self) -> bool:
        """Whether live termites keep the site closed."""
        return any(referral.keeps_closed for referral in self.referrals)

    @property
    def local_zone(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    @property
    def today(self) -> date:
        """The date at the site."""
        return self.now.astimezone(self.local_zone).date()

    @property
    def offer_has_passed(self) -> bool:
        """A day was offered, and it went by without an answer."""
        booking = self.booking
        if booking is None or booking.state != BookingState.OFFERED or booking.treat_on is None:
            return False
        return booking.treat_on < self.today

    @property
    def is_treated(self) -> bool:
        """The latest visit treated it, and no other is asked for, offered or booked.

        What a report finds afterwards is still to fix; the house stays treated.
        """
        visit = self.last_visit
        return visit is not None and visit.state == BookingState.TREATED and self.booking is None

    @property
    def turned_away(self) -> VisitFacts | None:
        """The visit in vain that no readiness confirmation made after it has settled."""
        visit, stated = self.last_visit, self.confirmation
        if visit is None or visit.state != BookingState.TURNED_AWAY:
            return None
        if stated is None or stated.withdrawn_at is not None:
            return visit
        return None if stated.confirmed_at > visit.closed_at else visit

    def is_issued_after(self, moment: datetime) -> bool:
        """Whether the current report was issued after this time."""
        issued_at = self.report.issued_at if self.report else None
        return issued_at is not None and issued_at > moment


def with_bars(runs: tuple[WallRun, ...], referrals: Iterable[ReferralFacts]) -> tuple[WallRun, ...]:
    """The runs, each with its stretches that nobody can reach."""
    barred = [referral for referral in referrals if referral.bars_wall]
    return tuple(_with_bars(run, barred) for run in runs) if barred else runs


def _with_bars(run: WallRun, barred: Iterable[ReferralFacts]) -> WallRun:
    """None of them goes past the end of the wall."""
    length_mm = run.length_mm
    ends = (
        (one.from_mm or 0, length_mm if one.to_mm is None else min(one.to_mm, length_mm))
        for one in barred
        if one.run_id == run.id
    )
    own = apart((start, end) for start, end in ends if start < end)
    return replace(run, out_of_reach=own) if own else run


@dataclass(frozen=True)
class Reason:
    """Why something can't be done yet, or a note (`blocks` empty).

    `missing` is True where nobody knows yet, rather than something being wrong. `who` is the
    `Trade` that acts next. `until` is when it ends by itself, if it does.

    It carries no words: what follows `source` is what a sentence about it needs, as far as its code
    has it. Days and times are those at the site.
    """

    code: Code
    who: str = Trade.BUILDER
    blocks: frozenset[str] = frozenset()
    missing: bool = False
    run_id: str | None = None
    run_label: str = ""
    distance_mm: int | None = None
    item_id: str | None = None
    item_number: int | None = None
    rule_key: str | None = None
    found: int | Decimal | None = None
    needed: int | Decimal | None = None
    unit: str = ""
    source: str = ""
    until: datetime | None = None
    overdue: bool = False
    kind_name: str = ""
    to_mm: int | None = None
    day: date | None = None
    """When it is due, the day that does not suit, the day of the visit or of the decision, or when
    it was found."""
    at: datetime | None = None
    """When it dries, or when the confirmation ran out."""
    confirmed_on: date | None = None
    latest: date | None = None
    """The last day that the confirmation covers."""
    report: int | None = None
    """The number of the current report, and in `earlier_report` of the one that was confirmed."""
    earlier_report: int | None = None
    count: int = 0
    labels: tuple[str, ...] = ()
    note: str = ""
    """What somebody wrote: the reason of a visit in vain."""
    levels: LineNote | None = None
    referral_id: str | None = None
    cause: str = ""
    """Why nobody can reach the wall (`NoAccess`)."""


@dataclass(frozen=True)
class RunAssessment:
    """One wall run: its status, why, and notes that block nothing."""

    run_id: str
    label: str
    status: str
    reasons: tuple[Reason, ...] = ()
    notes: tuple[Reason, ...] = ()


@dataclass(frozen=True)
class Assessment:
    """The answer for a site. `reasons` block something; `notes` block nothing."""

    site_status: str
    runs: tuple[RunAssessment, ...]
    reasons: tuple[Reason, ...]
    notes: tuple[Reason, ...] = ()
    confirmation_in_force: bool = False

    @property
    def can_confirm(self) -> bool:
        return not self.confirm_reasons

    @property
    def can_book(self) -> bool:
        return not self.booking_reasons

    @property
    def confirm_reasons(self) -> tuple[Reason, ...]:
        """What stands in the way of confirming readiness."""
        return _blocking(self.reasons, CONFIRMATION)

    @property
    def booking_reasons(self) -> tuple[Reason, ...]:
        """What stands in the way of confirming a booking."""
        return _blocking(self.reasons, BOOKING)

    @property
    def waits_for_technician(self) -> bool:
        """Nothing but the technician's decision stands in the way of a booking."""
        reasons = self.booking_reasons
        return bool(reasons) and all(reason.code.is_for_technician for reason in reasons)

    def run(self, run_id: str) -> RunAssessment:
        """The assessment of one wall run; KeyError if the site has none such."""
        for run in self.runs:
            if run.run_id == run_id:
                return run
        raise KeyError(run_id)


def _blocking(reasons: Iterable[Reason], what: str) -> tuple[Reason, ...]:
    return tuple(reason for reason in reasons if what in reason.blocks)
