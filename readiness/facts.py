"""The one bridge from what is stored to the plain facts that the rules work on."""

from collections.abc import Iterable
from datetime import datetime, time

from readiness import clock
from readiness.models import (
    Booking,
    Business,
    DefectItem,
    ReadinessConfirmation,
    RunCheck,
    Site,
    SiteReport,
    WallRun,
)
from readiness.rules import geometry
from readiness.rules.assessment import (
    Assessment,
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    ReportFacts,
    SiteFacts,
    assess,
)
from readiness.rules.catalogue import STATES
from readiness.rules.values import RuleValues, Unusable

HALF_STARTS = {"morning": time(7, 0), "afternoon": time(12, 0)}


def rule_values(business: Business | None = None) -> RuleValues:
    """The rule values in force: the defaults with what the business changed.

    A change that is not possible any more is not in force (`unusable_overrides` names it).
    """
    business = business or Business.current()
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
    return geometry.WallRun(
        id=str(run.pk),
        label=run.label,
        length_mm=run.length_mm,
        finish=run.finish,
        turn_degrees=run.turn_degrees,
    ).with_levels(run.levels)


def runs_facts(runs: Iterable[WallRun]) -> tuple[geometry.WallRun, ...]:
    """The runs that stand now, in order."""
    standing = sorted((run for run in runs if not run.removed_at), key=lambda run: run.position)
    return tuple(run_facts(run) for run in standing)


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


def booking_facts(booking: Booking, site: Site) -> BookingFacts:
    treat_at = None
    if booking.day and booking.half:
        treat_at = datetime.combine(booking.day, HALF_STARTS[booking.half], tzinfo=site.zone)
    return BookingFacts(state=booking.state, treat_on=booking.day, treat_at=treat_at)


class SiteState:
    """A site with its current report, items, confirmation and booking, read once.

    Reading one site takes a constant number of queries; `for_sites` reads a page of sites in the
    same number.
    """

    def __init__(self, site: Site, values: RuleValues, accept_said_fixed: bool):
        self.site = site
        self.values = values
        self.accept_said_fixed = accept_said_fixed
        self.runs: list[WallRun] = []
        self.report: SiteReport | None = None
        self.checks: list[RunCheck] = []
        self.items: list[DefectItem] = []
        self.confirmation: ReadinessConfirmation | None = None
        self.booking: Booking | None = None
        self._assessment: Assessment | None = None

    @classmethod
    def of(cls, site: Site) -> "SiteState":
        """The state of one site."""
        return cls.for_sites([site])[0]

    @classmethod
    def for_sites(cls, sites: Iterable[Site]) -> "list[SiteState]":
        """The states of a page of sites, in a constant number of queries."""
        sites = list(sites)
        business = Business.current()
        values = rule_values(business)
        said_fixed_is_enough = business.fixes_needed == Business.FixesNeeded.SAID_FIXED
        states = {site.pk: cls(site, values, said_fixed_is_enough) for site in sites}
        _read_runs(states)
        _read_reports(states)
        _read_confirmations(states)
        _read_bookings(states)
        return [states[site.pk] for site in sites]

    def facts(self, now: datetime | None = None) -> SiteFacts:
        """The plain facts that readiness is worked out from."""
        return SiteFacts(
            runs=runs_facts(self.runs),
            report=self._report_facts(),
            now=now or clock.now(),
            items=tuple(item_facts(item, self._first_issued(item)) for item in self.items),
            confirmation=confirmation_facts(self.confirmation) if self.confirmation else None,
            booking=booking_facts(self.booking, self.site) if self.booking else None,
            rain_at=self.site.rained_at,
            zone=STATES[self.site.state].zone,
            state=self.site.state,
            accept_said_fixed=self.accept_said_fixed,
            values=self.values,
        )

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
        if item.carried_from is not None:
            return item.carried_from.report.issued_at
        return self.report.issued_at if self.report else None


def _read_runs(states: dict) -> None:
    runs = WallRun.objects.filter(site__in=states, removed_at=None).order_by("site", "position")
    for run in runs:
        states[run.site_id].runs.append(run)


def _read_reports(states: dict) -> None:
    reports = {
        report.pk: report
        for report in SiteReport.objects.current().filter(site__in=states).defer("snapshot")
    }
    for report in reports.values():
        report.site = states[report.site_id].site
        states[report.site_id].report = report
    for check in RunCheck.objects.filter(report__in=reports):
        states[reports[check.report_id].site_id].checks.append(check)
    items = (
        DefectItem.objects.filter(report__in=reports)
        .select_related("carried_from__report", "wall_run")
        .defer("carried_from__report__snapshot")
        .order_by("number")
    )
    for item in items:
        item.report = reports[item.report_id]
        states[item.report.site_id].items.append(item)


def _read_confirmations(states: dict) -> None:
    confirmations = (
        ReadinessConfirmation.objects.filter(report__site__in=states)
        .select_related("report")
        .defer("report__snapshot")
        .order_by("confirmed_at")
    )
    for confirmation in confirmations:
        states[confirmation.report.site_id].confirmation = confirmation


def _read_bookings(states: dict) -> None:
    for booking in Booking.objects.open().filter(site__in=states):
        states[booking.site_id].booking = booking
