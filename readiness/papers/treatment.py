"""The treatment record: what was done, by whom, with what, on which walls, and what came before."""

from calendar import monthrange
from datetime import date
from decimal import Decimal

from readiness.models import Booking, Paper, SiteReport
from readiness.papers import data, history, wording
from readiness.papers.confirmation import PHOTO
from readiness.papers.pdf import Draft
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import ItemView, Snapshot, finish_words, run_length
from readiness.rules.band.believable import LevelsError
from readiness.rules.band.levels import solve
from readiness.rules.band.quantities import site_quantities
from readiness.rules.vocabulary import Effect
from readiness.rules.words import listed, metres, millimetres, number


def draft(paper: Paper) -> Draft:
    """The record of a treated booking, with the report and confirmation that it relied on."""
    booking = paper.booking
    report = _report_of(booking)
    snapshot = Snapshot.of(report, paper)
    stories = history.stories(report, snapshot, booking.closed_at, PHOTO)
    return build(snapshot, booking, stories)


def build(snapshot: Snapshot, booking: Booking, stories=()) -> Draft:
    name = "Treatment record"
    values = snapshot.facts.values
    confirmation = booking.confirmation
    told = {
        key: wording.clean(getattr(booking, key))
        for key in ("batch_number", "weather", "closing_note")
    }
    by = wording.clean(str(booking.treated_by)) if booking.treated_by else ""
    licence = wording.clean(booking.treated_by.licence_number) if booking.treated_by else ""
    next_by = months_later(booking.day, int(values["inspection_interval_months"]))
    context = {
        **head(snapshot, name),
        "treated_day": wording.day(booking.day),
        "half": booking.get_half_display().lower(),
        "by": f"{by} (licence {licence})" if licence else by,
        "facts": _facts(snapshot, booking, told),
        "note": told["closing_note"],
        "walls": _walls(snapshot),
        "gauges": _gauges_in_doubt(snapshot),
        "confirmed": _confirmed(snapshot, confirmation),
        "stories": stories,
        "before": snapshot.items(PHOTO, Effect.RECORD),
        "small": snapshot.items(PHOTO, Effect.ON_THE_DAY),
        "held": snapshot.items(PHOTO, Effect.HOLDS),
        "next_inspection": wording.day(next_by),
        "interval": values.words("inspection_interval_months"),
        "interval_source": values.rule("inspection_interval_months").source_words,
        "prepared_by": f"{by} (licence {licence})" if licence else by,
    }
    return report_draft(
        "treatment",
        snapshot,
        name,
        context,
        dated=booking.closed_at,
        description=f"Treated on {wording.day(booking.day)}",
        report_sha256=snapshot.digest,
        treatment=data.told(
            day_on=booking.day.isoformat(),
            half=context["half"],
            treated_by=data.told(name=by, licence_number=licence),
            facts=[{"what": label, "value": value} for label, value in context["facts"]],
            note=told["closing_note"],
            confirmed=context["confirmed"],
        ),
        walls=context["walls"],
        not_measured=context["gauges"],
        stories=data.stories(stories),
        taken_on_for_the_day=[data.where(item) for item in context["small"]],
        on_record=[_recorded(item) for item in context["before"]],
        next_inspection=data.told(
            by_on=next_by.isoformat(),
            interval=context["interval"],
            source=context["interval_source"],
        ),
    )


def months_later(day: date, months: int) -> date:
    """The same day so many months on, or the last of that month where it has no such day."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def _report_of(booking: Booking) -> SiteReport:
    """The report that the confirmation was signed on; else the last one before the treatment."""
    if booking.confirmation:
        return booking.confirmation.report
    before = SiteReport.objects.issued().filter(site=booking.site, issued_at__lte=booking.closed_at)
    return before.latest("issued_at")


def _facts(snapshot: Snapshot, booking: Booking, told: dict) -> list[tuple[str, str]]:
    estimate = site_quantities(snapshot.facts.runs, snapshot.facts.values)
    used = f"{number(Decimal(booking.used_ml) / 1000)} L" if booking.used_ml else ""
    pairs = [
        ("Product", snapshot.content["business"]["product_name"]),
        ("Batch number", told["batch_number"]),
        ("Liquid used", used),
        ("Estimated before", f"{number(estimate.litres_with_waste)} L, with waste"),
        ("Wall treated", metres(estimate.lineal_mm)),
        ("Weather", told["weather"]),
        ("Written down", wording.when(booking.closed_at, snapshot.zone)),
    ]
    return [pair for pair in pairs if pair[1]]


def _walls(snapshot: Snapshot) -> list[dict]:
    return [
        {
            "letter": snapshot.run_letters[run.id],
            "label": run.label,
            "finish": finish_words(run),
            "length": run_length(run),
            "ends": _ends(run, snapshot.facts.values),
        }
        for run in snapshot.facts.runs
    ]


def _gauges_in_doubt(snapshot: Snapshot) -> str:
    """On which walls of brick the joints were counted with a gauge that nobody measured there."""
    letters = [
        snapshot.run_letters[run.id]
        for run in snapshot.facts.runs
        if run.has_levels and not run.is_rendered and not (run.gauge and run.gauge.measured)
    ]
    if not letters:
        return ""
    return f"Gauge not measured, or not known to be, on {'walls' if letters[1:] else 'wall'} " + (
        f"{listed(letters)}."
    )


def _ends(run, values) -> str:
    """Where the treated band ends, as the levels say; a later inspection starts from it."""
    try:
        line = solve(run, values)
    except LevelsError:
        return "levels not believable"
    if line is None or not line.segments:
        return "no levels entered"
    return f"{line.ends_at}, {_from_slab([segment.rounded_mm for segment in line.segments])}"


def _from_slab(levels_mm: list[int]) -> str:
    """Levels against the top of the slab: "172 mm below", "86 to 172 mm below"."""
    highest, lowest = max(levels_mm), min(levels_mm)
    if lowest == highest == 0:
        return "level with it"
    if highest <= 0:
        near, far = abs(highest), abs(lowest)
        return f"{far} mm below" if near == far else f"{near} to {far} mm below"
    if lowest == highest:
        return f"{highest} mm above"
    return f"{millimetres(lowest)} to {millimetres(highest)}"


def _confirmed(snapshot: Snapshot, confirmation) -> str:
    if confirmation is None:
        return ""
    name, position = wording.clean(confirmation.name), wording.clean(confirmation.position)
    at = wording.when(confirmation.confirmed_at, snapshot.zone)
    said = f"{name}, {position}, for {snapshot.site['builder']}, at {at}"
    gone = wording.when(confirmation.withdrawn_at, snapshot.zone)
    by = f" by {wording.clean(str(confirmation.withdrawn_by))}" if confirmation.withdrawn_by else ""
    return (
        f"{said}; withdrawn{by} at {gone}: {wording.clean(confirmation.withdrawn_reason)}"
        if gone
        else said
    )


def _recorded(item: ItemView) -> dict:
    """A defect on record as its line prints it: of its photos only the digests."""
    return data.where(item) | data.told(
        found=item.found,
        note=item.note,
        photos=[{"sha256": photo.digest} for photo in item.photos],
    )
