"""The one bridge from what is stored to the plain facts that the rules work on."""

import uuid
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, time
from typing import Any

from django.db.models import F, QuerySet

from readiness import clock, read_once
from readiness.models import (
    Booking,
    Business,
    DefectItem,
    ReadinessConfirmation,
    Referral,
    RunCheck,
    Site,
    SiteReport,
    WallRun,
)
from readiness.rules.band import geometry
from readiness.rules.defects.catalogue import STATES
from readiness.rules.site.assessment import (
    Assessment,
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    ReferralFacts,
    ReportFacts,
    SiteFacts,
    VisitFacts,
    assess,
)
from readiness.rules.site.facts import with_bars
from readiness.rules.values.rule_values import RuleValues, Unusable
from readiness.rules.vocabulary import Half

HALF_STARTS: Mapping[str, time] = {Half.MORNING: time(7, 0), Half.AFTERNOON: time(12, 0)}


def rule_values(business: Business | None = None) -> RuleValues:
    """The rule values in force: the defaults with what the business changed.

    A change that is not possible any more is not in force (`unusable_overrides` names it).
    """
    if business is None:
        return read_once.once("rule values", lambda: rule_values(Business.current()))
    return RuleValues.from_stored(business.rule_overrides)[0]


def unusable_overrides(business: Business | None = None) -> tuple[Unusable, ...]:
    """The business's stored changes that today's rules do not allow, for its owner to see."""
    business = business or Business.current()
    return RuleValues.from_stored(business.rule_overrides)[1]


def report_values(report: SiteReport) -> RuleValues:
    """The values an issued report was made with; those in force for a draft."""
    return rule_values() if report.is_draft else RuleValues.from_json(report.rule_values)


def run_facts(run: WallRun) -> geometry.WallRun:
    """A wall run with its levels, as the rules take it."""
    return run_outline(run).with_levels(run.levels)


def run_outline(run: WallRun) -> geometry.WallRun:
    """A wall run without its levels: all that a plan and the reasons need."""
    return geometry.WallRun(
        id=str(run.pk),
        label=run.label,
        length_mm=run.length_mm,
        finish=run.finish,
        turn_degrees=run.turn_degrees,
    )


def runs_facts(
    runs: Iterable[WallRun], of_run: Callable[[WallRun], geometry.WallRun] = run_facts
) -> tuple[geometry.WallRun, ...]:
    """The runs that stand now, in order."""
    standing = sorted((run for run in runs if not run.removed_at), key=lambda run: run.position)
    return tuple(of_run(run) for run in standing)


def item_facts(item: DefectItem, issued_at: datetime | None = None) -> ItemFacts:
    """An item as it stands.

    `issued_at` is when it was first issued: a carried-over item is not a new one.
    """
    return ItemFacts(
        id=str(item.pk),
        number=item.number,
        run_id=str(item.wall_run_id),
        kind=item.kind,
        effect=item.effect,
        state=item.state or None,
        from_mm=item.from_mm,
        to_mm=item.to_mm,
        measured_value=item.measured_value,
        trade=item.trade,
        due_on=item.due_on,
        disputed=item.is_disputed,
        cleaned_wet_at=item.cleaned_wet_at,
        issued_at=issued_at,
    )


def check_facts(check: RunCheck) -> CheckFacts:
    return CheckFacts(run_id=str(check.wall_run_id), checked_at=check.checked_at)


def confirmation_facts(confirmation: ReadinessConfirmation) -> ConfirmationFacts:
    return ConfirmationFacts(
        confirmed_at=confirmation.confirmed_at,
        report_number=confirmation.report.number,
        valid_until=confirmation.valid_until,
        withdrawn_at=confirmation.withdrawn_at,
        ticked_run_ids=frozenset(confirmation.ticks),
    )


def starts_at(site: Site, day: date, half: str) -> datetime:
    """When a half-day begins at the site."""
    return datetime.combine(day, HALF_STARTS[half], tzinfo=site.zone)


def booking_facts(booking: Booking, site: Site) -> BookingFacts:
    treat_at = None
    if booking.day and booking.half:
        treat_at = starts_at(site, booking.day, booking.half)
    return BookingFacts(
        state=booking.state,
        treat_on=booking.day,
        treat_at=treat_at,
        was_asked=booking.was_asked,
        was_put_off=booking.was_put_off,
    )


def visit_facts(booking: Booking) -> VisitFacts:
    """How a visit that took place ended."""
    return VisitFacts(booking.state, booking.day, booking.closed_at, booking.closing_note)


def referral_facts(referral: Referral) -> ReferralFacts:
    """What a technician decides, as it stands; read `with_outcome`."""
    return ReferralFacts(
        id=str(referral.pk),
        kind=referral.kind,
        noted_at=referral.noted_at,
        run_id=str(referral.wall_run_id) if referral.wall_run_id else None,
        from_mm=referral.from_mm,
        to_mm=referral.to_mm,
        cause=referral.cause,
        outcome=getattr(referral, OUTCOME),
        decided_at=getattr(referral, DECIDED_AT),
    )


def walls_of(
    site: Site, of_run: Callable[[WallRun], geometry.WallRun] = run_outline
) -> tuple[geometry.WallRun, ...]:
    """The runs of a site that stand now, in order, with what of them nobody can reach."""
    runs = runs_facts(WallRun.objects.filter(site=site, removed_at=None), of_run)
    referrals = Referral.objects.with_outcome().filter(site=site, wall_run__isnull=False)
    return with_bars(runs, map(referral_facts, referrals))


OUTCOME, DECIDED_AT = "outcome", "decided_at"
"""Read with a referral (`with_outcome`)."""


class SiteState:
    """A site with its current report, items, confirmation, booking, last visit and what only a
    technician decides, read once.

    Reading one site takes a constant number of queries; `for_list` reads a page of sites in the
    same number. Levels only give notes, which block nothing: what shows no notes leaves
    `with_levels` off, and neither reads nor works out any levels. For a list walls and checks are
    no more than rows of the values that the facts need, and so are the items: a page of sites has
    hundreds of each.
    """

    def __init__(
        self, site: Site, values: RuleValues, reported_is_enough: bool, with_levels: bool = True
    ):
        self.site = site
        self.with_levels = with_levels
        self.values = values
        self.reported_is_enough = reported_is_enough
        self.runs: list[WallRun | Any] = []
        self.report: SiteReport | None = None
        self.checks: list[RunCheck | Any] = []
        self.items: list[DefectItem] = []
        self.confirmation: ReadinessConfirmation | None = None
        self.booking: Booking | None = None
        self.last_visit: Booking | None = None
        self.referrals: list[Referral] = []
        self._facts: SiteFacts | None = None
        self._assessment: Assessment | None = None

    @classmethod
    def of(cls, site: Site, *, with_levels: bool = True) -> "SiteState":
        """The state of one site."""
        states = cls._begun([site], with_levels)
        runs = WallRun.objects.all() if with_levels else WallRun.objects.defer("levels")
        _read_runs(states, runs)
        reports = _read_reports(states, "snapshot")
        _read_checks(states, reports, RunCheck.objects.all())
        _read_items(states, reports, DefectItem.objects.all())
        _give_runs(states[site.pk])
        _read_confirmations(states)
        _read_bookings(states)
        _read_referrals(states)
        return states[site.pk]

    @classmethod
    def for_list(cls, sites: Iterable[Site]) -> "list[SiteState]":
        """The states of a page of sites without levels, in a constant number of queries."""
        states = cls._begun(sites, with_levels=False)
        _read_runs(states, WallRun.objects.values_list(*OF_A_RUN, named=True))
        reports = _read_reports(states, "snapshot", "rule_values")
        _read_checks(states, reports, RunCheck.objects.values_list(*OF_A_CHECK, named=True))
        _read_items(states, reports, DefectItem.objects.only(*OF_AN_ITEM))
        _read_confirmations(states)
        _read_bookings(states)
        _read_referrals(states)
        return list(states.values())

    @classmethod
    def _begun(cls, sites: Iterable[Site], with_levels: bool) -> "States":
        business = Business.current()
        values = rule_values(business)
        reported_is_enough = business.fixes_needed == Business.FixesNeeded.REPORTED_FIXED
        return {site.pk: cls(site, values, reported_is_enough, with_levels) for site in sites}

    def facts(self, now: datetime | None = None) -> SiteFacts:
        """The plain facts that readiness is worked out from; as at `now`, or as at this reading."""
        if now is not None:
            return self._facts_at(now)
        if self._facts is None:
            self._facts = self._facts_at(clock.now())
        return self._facts

    def _facts_at(self, now: datetime) -> SiteFacts:
        return SiteFacts(
            runs=runs_facts(self.runs, run_facts if self.with_levels else run_outline),
            report=self._report_facts(),
            now=now,
            items=tuple(item_facts(item, self._first_issued(item)) for item in self.items),
            confirmation=confirmation_facts(self.confirmation) if self.confirmation else None,
            booking=booking_facts(self.booking, self.site) if self.booking else None,
            last_visit=visit_facts(self.last_visit) if self.last_visit else None,
            referrals=tuple(referral_facts(referral) for referral in self.referrals),
            rain_at=self.site.rained_at,
            zone=STATES[self.site.state].zone,
            reported_is_enough=self.reported_is_enough,
            check_levels=self.with_levels,
            values=self.values,
        )

    @property
    def walls_asked(self) -> "list[WallRun | Any]":
        """The walls that are to be checked and confirmed: somebody can reach some of each."""
        asked = {wall.id for wall in self.facts().walls_asked}
        return [run for run in self.runs if str(run.pk) in asked]

    @property
    def assessment(self) -> Assessment:
        """Whether the site is ready, and why not; worked out once for this reading."""
        if self._assessment is None:
            self._assessment = assess(self.facts())
        return self._assessment

    def _report_facts(self) -> ReportFacts | None:
        if self.report is None:
            return None
        return ReportFacts(
            number=self.report.number,
            issued_at=self.report.issued_at,
            checks=tuple(check_facts(check) for check in self.checks),
        )

    def _first_issued(self, item: DefectItem) -> datetime | None:
        if item.carried_from_id is not None:
            return getattr(item, CARRIED_ISSUED_AT)
        return self.report.issued_at if self.report else None


States = dict[uuid.UUID, SiteState]
"""By the site's id, in the order of the list."""

OF_A_RUN = (
    "pk", "site_id", "position", "label", "length_mm", "finish", "turn_degrees", "removed_at",
)  # fmt: skip
OF_A_CHECK = ("report_id", "wall_run_id", "checked_at")
OF_AN_ITEM = (
    "report", "number", "wall_run", "kind", "effect", "state", "from_mm", "to_mm",
    "measured_value", "trade", "due_on", "disputed_at", "decided_at", "cleaned_wet_at",
    "carried_from",
)  # fmt: skip
"""What the facts are made from, and no more."""

CARRIED_ISSUED_AT = "carried_issued_at"
"""Read with a carried-over item: when the report that it came from was issued."""


def _read_runs(states: States, runs: QuerySet) -> None:
    for run in runs.filter(site__in=states, removed_at=None).order_by("site", "position"):
        states[run.site_id].runs.append(run)


def _read_reports(states: States, *unread: str) -> dict[uuid.UUID, SiteReport]:
    reports = SiteReport.objects.current().filter(site__in=states).defer(*unread)
    found = {report.pk: report for report in reports}
    for report in found.values():
        report.site = states[report.site_id].site
        states[report.site_id].report = report
    return found


def _read_checks(states: States, reports: dict, checks: QuerySet) -> None:
    for check in checks.filter(report__in=reports):
        states[reports[check.report_id].site_id].checks.append(check)


def _read_items(states: States, reports: dict, items: QuerySet) -> None:
    found = items.filter(report__in=reports).order_by("number")
    for item in found.annotate(**{CARRIED_ISSUED_AT: F("carried_from__report__issued_at")}):
        item.report = reports[item.report_id]
        states[item.report.site_id].items.append(item)


def _give_runs(state: SiteState) -> None:
    """Each item gets its wall run: one of those read, or (one query) one that was taken away."""
    runs = {run.pk: run for run in state.runs}
    gone = {item.wall_run_id for item in state.items} - runs.keys()
    if gone:
        runs |= WallRun.objects.defer("levels").in_bulk(gone)
    for item in state.items:
        item.wall_run = runs[item.wall_run_id]


def _read_confirmations(states: States) -> None:
    confirmations = (
        ReadinessConfirmation.objects.filter(report__site__in=states)
        .select_related("report")
        .defer("report__snapshot", "report__rule_values")
        .order_by("confirmed_at")
    )
    for confirmation in confirmations:
        states[confirmation.report.site_id].confirmation = confirmation


def _read_bookings(states: States) -> None:
    """What is under way, and the latest visit that took place."""
    for booking in Booking.objects.exclude(state=Booking.State.CANCELLED).filter(site__in=states):
        state = states[booking.site_id]
        if booking.is_open:
            state.booking = booking
        elif state.last_visit is None or state.last_visit.closed_at < booking.closed_at:
            state.last_visit = booking


def _read_referrals(states: States) -> None:
    """Live termites, and walls that nobody can reach, the first one first."""
    found = Referral.objects.with_outcome().filter(site__in=states)
    for referral in found.select_related("wall_run").defer("wall_run__levels"):
        states[referral.site_id].referrals.append(referral)
