"""Sites and the walls round them."""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from readiness import clock
from readiness.actions.errors import Problem, Refused
from readiness.actions.permission import require_applicator
from readiness.evidence.kept import keys_of
from readiness.evidence.record import append, lock_site
from readiness.models import BuilderContact, Site, User, WallRun
from readiness.models.verbs import Verb
from readiness.wording.refusals import sites as refusals

SITE_FIELDS = (
    "street",
    "suburb",
    "state",
    "postcode",
    "job_number",
    "house_type",
    "access_notes",
    "datum",
    "soil_class",
    "treatment_wanted_on",
    "latitude",
    "longitude",
)


@dataclass(frozen=True)
class RunEntry:
    """One wall run as entered; `id` None makes a new one."""

    label: str
    length_mm: int
    finish: str
    turn_degrees: int = 90
    id: uuid.UUID | None = None


@transaction.atomic
def add_site(
    actor: User,
    builder,
    *,
    notify: Iterable[BuilderContact] = (),
    site_id: uuid.UUID | None = None,
    **fields,
) -> Site:
    """Add a site; the same `site_id` twice is one site."""
    require_applicator(actor)
    _check_contacts(builder, notify)
    site_id = site_id or uuid.uuid4()
    site, made = Site.objects.get_or_create(
        pk=site_id,
        defaults={"builder": builder, "created_by": actor, "created_at": clock.now(), **fields},
    )
    if made:
        site.notify.set(notify)
        append(site, actor, Verb.SITE_ADDED, {"builder": str(builder.pk)}, rows=[site])
    return site


@transaction.atomic
def change_site(
    actor: User, site: Site, *, notify: Iterable[BuilderContact] | None = None, **fields
) -> Site:
    """Change a site's details. The builder stays: another builder's house is another site."""
    require_applicator(actor)
    site = lock_site(site.pk)
    unknown = set(fields) - set(SITE_FIELDS)
    if unknown:
        raise TypeError(f"Not a detail of a site: {', '.join(sorted(unknown))}")
    changed = sorted(name for name, value in fields.items() if getattr(site, name) != value)
    for name in changed:
        setattr(site, name, fields[name])
    site.save(update_fields=changed)
    if notify is not None and set(notify) != set(site.notify.all()):
        _check_contacts(site.builder, notify)
        site.notify.set(notify)
        changed.append("notify")
    if changed:
        append(site, actor, Verb.SITE_CHANGED, {"fields": changed}, rows=[site])
    return site


def _check_contacts(builder, contacts: Iterable[BuilderContact]) -> None:
    if any(contact.builder_id != builder.pk for contact in contacts):
        raise Refused(refusals.contact_of_another_builder())


@transaction.atomic
def note_rain(actor: User, site: Site, rained_at: datetime) -> Site:
    """Note when rain last wetted the walls; drying counts from then."""
    require_applicator(actor)
    site = lock_site(site.pk)
    if rained_at > clock.now():
        raise Refused(refusals.rain_to_come())
    site.rained_at = rained_at
    site.save(update_fields=["rained_at"])
    append(site, actor, Verb.RAIN_NOTED, {"at": rained_at.isoformat()}, rows=[site])
    return site


@transaction.atomic
def close_site(actor: User, site: Site) -> Site:
    """Archive a finished site; it stays in the search."""
    require_applicator(actor)
    site = lock_site(site.pk)
    if site.closed_at:
        return site
    if site.bookings.open().exists():
        raise Refused(refusals.booking_is_open())
    site.closed_at = clock.now()
    site.save(update_fields=["closed_at"])
    append(site, actor, Verb.SITE_CLOSED, {}, rows=[site])
    return site


def require_open(site: Site) -> None:
    """Refuse new work on an archived site: the lists of open ones would not show it."""
    if site.closed_at:
        raise Refused(refusals.is_archived())


@transaction.atomic
def reopen_site(actor: User, site: Site) -> Site:
    """Take a site out of the closed ones."""
    require_applicator(actor)
    site = lock_site(site.pk)
    if not site.closed_at:
        return site
    site.closed_at = None
    site.save(update_fields=["closed_at"])
    append(site, actor, Verb.SITE_REOPENED, {}, rows=[site])
    return site


def current_runs(site: Site):
    """The wall runs that stand now, in order round the perimeter."""
    return site.wall_runs.filter(removed_at=None)


@transaction.atomic
def set_wall_runs(actor: User, site: Site, entries: Sequence[RunEntry]) -> list[WallRun]:
    """Make the site's wall runs those of `entries`, in that order.

    A run that is left out goes; one that a report or a referral speaks of is kept out of sight, so
    that these still read as they did.
    """
    require_applicator(actor)
    site = lock_site(site.pk)
    twice = _names_given_twice([entry.label.strip() for entry in entries])
    if twice:
        raise Refused([Problem(refusals.walls_called_alike(name)) for name in twice])
    present = {run.pk: run for run in current_runs(site)}
    kept = [_place_run(site, present, entry, place) for place, entry in enumerate(entries, 1)]
    told_of = [run for run in present.values() if _is_told_of(run)]
    for run in told_of:
        _take_away(run)
    others = [run for run in present.values() if run not in told_of]
    gone = keys_of(others)
    for run in others:
        run.delete()
    data = {"walls": [_run_data(run) for run in kept]}
    append(site, actor, Verb.WALLS_CHANGED, data, rows=[*kept, *told_of], gone=gone)
    return kept


def _names_given_twice(names: Sequence[str]) -> list[str]:
    """Each name that another wall has as well, once, as it was typed first."""
    folded = [name.casefold() for name in names]
    return [
        name
        for place, name in enumerate(names)
        if folded.count(folded[place]) > 1 and folded.index(folded[place]) == place
    ]


def _place_run(site: Site, present: dict, entry: RunEntry, place: int) -> WallRun:
    run = present.pop(entry.id, None) or WallRun(site=site, pk=entry.id or uuid.uuid4())
    if entry.id and run._state.adding and WallRun.objects.filter(pk=entry.id).exists():
        run.pk = uuid.uuid4()
    run.position = place
    run.label = entry.label.strip()
    run.length_mm = entry.length_mm
    run.finish = entry.finish
    run.turn_degrees = entry.turn_degrees
    run.save()
    return run


def _is_told_of(run: WallRun) -> bool:
    return run.items.exists() or run.checks.exists() or run.referrals.exists()


def _take_away(run: WallRun) -> None:
    run.removed_at = clock.now()
    run.save(update_fields=["removed_at"])


def _run_data(run: WallRun) -> dict:
    return {"id": str(run.pk), "length_mm": run.length_mm, "finish": run.finish}


@transaction.atomic
def copy_wall_runs(actor: User, site: Site, source: Site) -> list[WallRun]:
    """Copy walls from a site of the same house type.

    Of the levels only what a design has: nothing that somebody measured, as nobody did here.
    Refused when the site has walls already.
    """
    require_applicator(actor)
    site = lock_site(site.pk)
    if current_runs(site).exists():
        raise Refused(refusals.has_walls_already())
    runs = list(current_runs(source))
    if not runs:
        raise Refused(refusals.no_walls_to_copy(str(source)))
    copies = [_copy_run(site, run) for run in runs]
    data = {"from": str(source.pk), "walls": len(copies)}
    append(site, actor, Verb.WALLS_COPIED, data, rows=copies)
    return copies


OF_A_DESIGN = ("version", "surface", "unit", "courses_treated", "openings")
"""Levels that walls of one design share; an opening's threshold was measured, its place was not."""


def _copy_run(site: Site, run: WallRun) -> WallRun:
    levels = {key: value for key, value in run.levels.items() if key in OF_A_DESIGN}
    openings = levels.get("openings", ())
    levels["openings"] = [opening | {"threshold_mm": None} for opening in openings]
    return WallRun.objects.create(
        site=site,
        levels=levels,
        **{
            name: getattr(run, name)
            for name in ("position", "label", "length_mm", "finish", "turn_degrees")
        },
    )


@transaction.atomic
def set_levels(actor: User, run: WallRun, levels: Mapping) -> WallRun:
    """Replace what was measured on a run, as `WallRun.levels_as_dict` of the rules gives it.

    Check it against the rules first (readiness.rules.band.geometry): this stores what it is given.
    """
    require_applicator(actor)
    site = lock_site(run.site_id)
    run = WallRun.objects.select_for_update(of=("self",)).get(pk=run.pk)
    run.levels, run.levels_changed_at = dict(levels), clock.now()
    run.save(update_fields=["levels", "levels_changed_at"])
    append(site, actor, Verb.LEVELS_CHANGED, {"wall": str(run.pk)}, rows=[run])
    return run
