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
from readiness.rules.values import RuleValues

HALF_STARTS = {"morning": time(7, 0), "afternoon": time(12, 0)}


def rule_values(business: Business | None = None) -> RuleValues:
    """The rule values in force: the defaults with what the business changed."""
    business = business or Business.current()
    return RuleValues.defaults().with_overrides(business.rule_overrides)


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


def report_snapshot(report: SiteReport) -> dict:
    """Everything a report's papers are made from, as JSON: they never change with the site.

    Holds the business's letterhead, the site, walls with levels, checks, items with the digests of
    their photos, and the rule values. Lengths are mm.
    """
    business, site = Business.current(), report.site
    runs = list(site.wall_runs.filter(removed_at=None))
    return {
        "version": 1,
        "number": report.number,
        "issued_at": report.issued_at.isoformat() if report.issued_at else None,
        "visited_on": report.visited_on.isoformat(),
        "treatment_wanted_on": _day(report.treatment_wanted_on),
        "weather": report.weather,
        "notes": report.notes,
        "prepared_by": _person(report.prepared_by),
        "issued_by": _person(report.issued_by),
        "supersedes": report.supersedes.number if report.supersedes else None,
        "business": {
            name: getattr(business, name)
            for name in (
                "name",
                "licence_number",
                "address",
                "phone",
                "email",
                "letterhead_note",
                "product_name",
                "report_introduction",
                "currency",
                "paper_size",
            )
        },
        "site": {
            "id": str(site.pk),
            "street": site.street,
            "suburb": site.suburb,
            "state": site.state,
            "postcode": site.postcode,
            "job_number": site.job_number,
            "house_type": site.house_type,
            "datum": site.datum,
            "builder": site.builder.name,
            "rained_at": site.rained_at.isoformat() if site.rained_at else None,
        },
        "runs": [_run_snapshot(run) for run in runs],
        "checks": [_check_snapshot(check) for check in _checks_with_photos(report)],
        "items": [_item_snapshot(item) for item in _items_with_photos(report)],
        "rule_values": rule_values(business).as_dict(),
        "fixes_needed": business.fixes_needed,
    }


def facts_from_snapshot(snapshot: dict) -> SiteFacts:
    """The facts as they stood when the report was issued, for its papers."""
    issued_at = datetime.fromisoformat(snapshot["issued_at"])
    site = snapshot["site"]
    return SiteFacts(
        runs=tuple(snapshot_run(run) for run in snapshot["runs"]),
        report=ReportFacts(
            number=snapshot["number"],
            issued_at=issued_at,
            checks=tuple(
                CheckFacts(check["run"], datetime.fromisoformat(check["checked_at"]))
                for check in snapshot["checks"]
            ),
        ),
        now=issued_at,
        items=tuple(_snapshot_item(item, issued_at) for item in snapshot["items"]),
        rain_at=datetime.fromisoformat(site["rained_at"]) if site["rained_at"] else None,
        zone=STATES[site["state"]].zone,
        state=site["state"],
        accept_said_fixed=snapshot["fixes_needed"] == Business.FixesNeeded.SAID_FIXED,
        values=RuleValues.from_json(snapshot["rule_values"]),
    )


def snapshot_run(run: dict) -> geometry.WallRun:
    """A wall run as it was when the report was issued."""
    return geometry.WallRun(
        id=run["id"],
        label=run["label"],
        length_mm=run["length_mm"],
        finish=run["finish"],
        turn_degrees=run["turn_degrees"],
    ).with_levels(run["levels"])


def _snapshot_item(item: dict, issued_at: datetime) -> ItemFacts:
    washed = item["cleaned_wet_at"]
    return ItemFacts(
        id=item["id"],
        number=item["number"],
        run_id=item["run"],
        kind=item["kind"],
        effect=item["effect"],
        state=item["state"] or None,
        from_mm=item["from_mm"],
        to_mm=item["to_mm"],
        measured_value=item["measured_value"],
        trade=item["trade"],
        due_on=datetime.fromisoformat(item["due_on"]).date() if item["due_on"] else None,
        cleaned_wet_at=datetime.fromisoformat(washed) if washed else None,
        issued_at=issued_at,
    )


def _day(day) -> str | None:
    return day.isoformat() if day else None


def _person(user) -> dict | None:
    if user is None:
        return None
    return {"id": str(user.pk), "name": str(user), "licence_number": user.licence_number}


def _run_snapshot(run: WallRun) -> dict:
    return {
        "id": str(run.pk),
        "label": run.label,
        "length_mm": run.length_mm,
        "finish": run.finish,
        "turn_degrees": run.turn_degrees,
        "levels": run.levels,
    }


def _check_snapshot(check: RunCheck) -> dict:
    return {
        "run": str(check.wall_run_id),
        "checked_at": check.checked_at.isoformat(),
        "checked_by": _person(check.checked_by),
        "note": check.note,
        "photos": _photos_snapshot(check),
    }


def _photos_snapshot(thing: DefectItem | RunCheck) -> list[dict]:
    return [photo_snapshot(photo) for photo in thing.photos.all() if not photo.removed_at]


def _checks_with_photos(report: SiteReport) -> Iterable[RunCheck]:
    return report.checks.select_related("checked_by").prefetch_related(
        "photos__original", "photos__markup", "photos__measurements"
    )


def _items_with_photos(report: SiteReport) -> Iterable[DefectItem]:
    return (
        report.items.select_related("wall_run", "carried_from__report")
        .prefetch_related("photos__original", "photos__markup", "photos__measurements")
        .order_by("number")
    )


def _item_snapshot(item: DefectItem) -> dict:
    carried = item.carried_from
    return {
        "id": str(item.pk),
        "number": item.number,
        "run": str(item.wall_run_id),
        "kind": item.kind,
        "from_mm": item.from_mm,
        "to_mm": item.to_mm,
        "measured_value": item.measured_value,
        "measured_from": item.measured_from,
        "measured_uncertainty": item.measured_uncertainty,
        "note": item.note,
        "required_fix": item.required_fix,
        "trade": item.trade,
        "effect": item.effect,
        "state": item.state,
        "due_on": _day(item.due_on),
        "cleaned_wet_at": item.cleaned_wet_at.isoformat() if item.cleaned_wet_at else None,
        "carried_from": {"report": carried.report.number, "number": carried.number}
        if carried
        else None,
        "photos": _photos_snapshot(item),
    }


def photo_snapshot(photo) -> dict:
    """A photo as papers show it: its digest, both times, markup and measurements."""
    original, markup = photo.original, getattr(photo, "markup", None)
    return {
        "id": str(photo.pk),
        "sha256": original.digest,
        "width_px": original.width_px,
        "height_px": original.height_px,
        "filename": photo.filename,
        "caption": photo.caption,
        "received_at": photo.received_at.isoformat(),
        "taken_at": photo.taken_at.isoformat() if photo.taken_at else None,
        "taken_at_local": photo.taken_at_local,
        "taken_offset": photo.taken_offset,
        "markup": markup.shapes if markup else [],
        "measurements": [
            {
                "value_mm": measurement.value_mm,
                "uncertainty_mm": measurement.uncertainty_mm,
                "reference": measurement.reference,
            }
            for measurement in photo.measurements.all()
        ],
    }
