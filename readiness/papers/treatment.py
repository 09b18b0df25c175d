"""The treatment record: what was done, by whom, with what, on which walls, and what came before."""

from calendar import monthrange
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from readiness.models import Booking, Paper, SiteReport
from readiness.papers import data, history, referrals, wording
from readiness.papers.confirmation import PHOTO
from readiness.papers.pdf import Draft
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import ItemView, Snapshot, finish_words, run_length
from readiness.rules.band import believable
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import WallBand, bands_of
from readiness.rules.band.quantities import site_quantities
from readiness.rules.vocabulary import Effect
from readiness.rules.words import metres, number
from readiness.snapshots import referrals_snapshot
from readiness.wording.local_rules import for_papers
from readiness.wording.paper import parts
from readiness.wording.paper import referrals as say_referrals
from readiness.wording.paper import treatment as say
from readiness.wording.quantities import span


def draft(paper: Paper) -> Draft:
    """The record of a treated booking, with the report and confirmation that it relied on."""
    booking = paper.booking
    report = _report_of(booking)
    snapshot = Snapshot.of(report, paper)
    stories = history.stories(report, snapshot, booking.closed_at, PHOTO)
    referred = referrals_snapshot(booking.site, until=booking.closed_at)
    return build(snapshot, booking, stories, referred=wording.clean(referred))


def build(
    snapshot: Snapshot, booking: Booking, stories=(), *, referred: Sequence[dict] = ()
) -> Draft:
    """`referred` is what only a technician decides, as it stood when the visit was recorded."""
    name = say.name()
    walls = referrals.walls_at(snapshot.facts.runs, referred)
    limits = referrals.limits(referred, snapshot.run_letters, snapshot.zone)
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
        "by": parts.person(by, licence),
        "facts": _facts(snapshot, walls, booking, told),
        "note": told["closing_note"],
        "walls": _walls(snapshot, walls),
        "limits": limits,
        "termites": referrals.finds_at(referred, snapshot.zone),
        "gauges": _gauges_in_doubt(snapshot, walls),
        "confirmed": _confirmed(snapshot, confirmation),
        "stories": stories,
        "before": snapshot.items(PHOTO, Effect.RECORD),
        "small": snapshot.items(PHOTO, Effect.ON_THE_DAY),
        "held": snapshot.items(PHOTO, Effect.HOLDS),
        "local_notes": for_papers(snapshot.site["state"]),
        "next_inspection": wording.day(next_by),
        "interval": values.words("inspection_interval_months"),
        "interval_source": values.source_words("inspection_interval_months"),
        "prepared_by": parts.person(by, licence),
    }
    return report_draft(
        "treatment",
        snapshot,
        name,
        context,
        dated=booking.closed_at,
        description=say.treated(wording.day(booking.day)),
        report_sha256=snapshot.digest,
        treatment=data.told(
            day_on=booking.day.isoformat(),
            half=context["half"],
            treated_by=data.told(name=by, licence_number=licence),
            facts=[{"what": label, "value": value} for label, value in context["facts"]],
            note=told["closing_note"],
            confirmed=context["confirmed"],
        ),
        live_termites=context["termites"],
        limits=limits.sentences,
        limits_mean=limits.meaning,
        walls=context["walls"],
        not_measured=context["gauges"],
        stories=data.stories(stories),
        taken_on_for_the_day=[data.where(item) for item in context["small"]],
        on_record=[_recorded(item) for item in context["before"]],
        local_notes=context["local_notes"],
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


def _facts(
    snapshot: Snapshot, walls: Sequence[WallRun], booking: Booking, told: dict
) -> list[tuple[str, str]]:
    estimate = site_quantities(walls, snapshot.facts.values)
    length_mm = sum(wall.length_mm for wall in walls) or estimate.lineal_mm
    length = metres(length_mm)
    reachable_mm = sum(wall.reachable_mm for wall in walls)
    if walls and reachable_mm != length_mm:
        length = say_referrals.within_reach(length, metres(reachable_mm))
    used = say.litres(number(Decimal(booking.used_ml) / 1000)) if booking.used_ml else ""
    values = {
        "product": snapshot.content["business"]["product_name"],
        "batch": told["batch_number"],
        "used": used,
        "estimated": span(estimate),
        "length": length,
        "weather": told["weather"],
        "recorded": wording.when(booking.closed_at, snapshot.zone),
    }
    return parts.labelled(say.LABELS, values)


def _walls(snapshot: Snapshot, walls: Sequence[WallRun]) -> list[dict]:
    bands = bands_of(walls, snapshot.facts.values)
    return [
        {
            "letter": snapshot.run_letters[run.id],
            "label": run.label,
            "finish": finish_words(run),
            "length": run_length(run),
            "ends": _ends(run, bands[run.id]),
        }
        for run in walls
    ]


def _gauges_in_doubt(snapshot: Snapshot, walls: Sequence[WallRun]) -> str:
    """On which walls of brick the joints were counted with a gauge that nobody measured there."""
    letters = [
        snapshot.run_letters[run.id]
        for run in walls
        if run.reachable_mm
        and run.has_levels
        and not run.is_rendered
        and not (run.gauge and run.gauge.measured)
    ]
    return say.gauge_in_doubt(parts.named_walls(letters)) if letters else ""


def _ends(run: WallRun, band: WallBand | None) -> str:
    """Where the treated band ends, as the levels say; a later inspection starts from it."""
    if not run.reachable_mm:
        return say_referrals.no_band()
    ends = _ends_by_levels(run, band)
    return say_referrals.end_of_band(ends) if run.out_of_reach else ends


def _ends_by_levels(run: WallRun, band: WallBand | None) -> str:
    if believable.problems(run):
        return say.levels_not_believable()
    if band is None or not band.segments:
        return say.no_levels()
    slab_mm = band.run.slab_level_mm
    levels_mm = [segment.rounded_mm - slab_mm for segment in band.segments]
    return say.ends_at(band.ends_at, say.from_slab(min(levels_mm), max(levels_mm)))


def _confirmed(snapshot: Snapshot, confirmation) -> str:
    if confirmation is None:
        return ""
    name, position = wording.clean(confirmation.name), wording.clean(confirmation.position)
    at = wording.when(confirmation.confirmed_at, snapshot.zone)
    said = say.confirmed(name, position, snapshot.site["builder"], at)
    gone = wording.when(confirmation.withdrawn_at, snapshot.zone)
    if not gone:
        return said
    by = wording.clean(str(confirmation.withdrawn_by or ""))
    return say.withdrawn(said, by, gone, wording.clean(confirmation.withdrawn_reason))


def _recorded(item: ItemView) -> dict:
    """A defect on record as its line prints it: of its photos only the digests."""
    return data.where(item) | data.told(
        found=item.found_by_code,
        note=item.note,
        photos=[{"sha256": photo.digest} for photo in item.photos],
    )
