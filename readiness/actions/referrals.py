"""What only a licensed technician decides: live termites, and walls that nobody can reach.

Anybody of the office notes what they found; nothing of it is ever changed or deleted. A decision is
made by a member of staff whose licence is recorded, and only a later decision takes its place.
"""

import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.db import transaction

from readiness import clock
from readiness.actions.errors import About, Problem, Refused
from readiness.actions.permission import require_applicator
from readiness.actions.reporting.attaching import attach_to_decision, attach_to_referral
from readiness.actions.sites.sites import require_open
from readiness.evidence.record import append, lock_site
from readiness.facts import walls_of
from readiness.messages import outbox
from readiness.models import Photo, Referral, ReferralDecision, Site, User, WallRun
from readiness.models.verbs import Verb
from readiness.rules.vocabulary import OUTCOMES, ReferralKind
from readiness.wording.refusals import referrals as refusals
from readiness.wording.refusals import reporting

FOUND: Mapping[str, Verb] = {
    ReferralKind.LIVE_TERMITES: Verb.TERMITES_FOUND,
    ReferralKind.NO_ACCESS: Verb.ACCESS_NOTED,
}
DECIDED: Mapping[str, Verb] = {
    ReferralKind.LIVE_TERMITES: Verb.TERMITES_DECIDED,
    ReferralKind.NO_ACCESS: Verb.ACCESS_DECIDED,
}


@transaction.atomic
def note_live_termites(
    actor: User,
    site: Site,
    *,
    wall_run: WallRun | None = None,
    from_mm: int | None = None,
    note: str = "",
    photos: Iterable[Photo] = (),
    referral_id: uuid.UUID | None = None,
) -> Referral:
    """Live termites or mud tubes were found: from now on nothing can be booked.

    The builder's people and the owners are told. One `referral_id` is one find.
    """
    found = Referral(
        pk=referral_id or uuid.uuid4(),
        site=site,
        kind=ReferralKind.LIVE_TERMITES,
        wall_run=wall_run,
        from_mm=from_mm if wall_run else None,
        note=note,
    )
    made = _note(actor, found, photos)
    if made:
        outbox.termites_found(found)
    return Referral.objects.select_related("site", "wall_run").get(pk=found.pk)


@transaction.atomic
def note_no_access(
    actor: User,
    wall_run: WallRun,
    *,
    cause: str,
    from_mm: int | None = None,
    to_mm: int | None = None,
    note: str = "",
    photos: Iterable[Photo] = (),
    referral_id: uuid.UUID | None = None,
) -> Referral:
    """Nobody can reach a wall, or a stretch of it; the builder is not asked to clear anything.

    `cause` is a `NoAccess`. Without distances, or from end to end, it is the whole wall.
    """
    if (from_mm or 0, to_mm) == (0, wall_run.length_mm):
        from_mm = to_mm = None
    found = Referral(
        pk=referral_id or uuid.uuid4(),
        site=wall_run.site,
        kind=ReferralKind.NO_ACCESS,
        wall_run=wall_run,
        from_mm=from_mm,
        to_mm=to_mm,
        cause=cause,
        note=note,
    )
    _note(actor, found, photos)
    return Referral.objects.select_related("site", "wall_run").get(pk=found.pk)


def _note(actor: User, found: Referral, photos: Iterable[Photo]) -> bool:
    """Keep what was found; False where the same was sent before."""
    require_applicator(actor)
    site = lock_site(found.site_id)
    known = Referral.objects.filter(pk=found.pk).first()
    if known:
        if known.site_id != site.pk or known.kind != found.kind:
            raise Refused(refusals.another_find())
        return False
    require_open(site)
    _check_place(site, found)
    if found.kind == ReferralKind.NO_ACCESS:
        _check_stretch(site, found)
    found.noted_by, found.noted_at = actor, clock.now()
    found.save(force_insert=True)
    data = {
        **_about(found),
        "wall": str(found.wall_run_id) if found.wall_run_id else None,
        "from_mm": found.from_mm,
        "to_mm": found.to_mm,
    }
    append(site, actor, FOUND[found.kind], data, rows=[found], said={"note": found.note})
    attach_to_referral(actor, found, photos)
    return True


def _about(referral: Referral) -> dict:
    return {"referral": str(referral.pk)}


def _check_place(site: Site, found: Referral) -> None:
    """Raises Refused for a wall of another site, or one that is no more, and past its end."""
    run = found.wall_run
    if run is None:
        return
    if run.site_id != site.pk or run.removed_at:
        raise Refused(reporting.wall_of_another_site())
    for place in (found.from_mm, found.to_mm):
        if place is not None and place > run.length_mm:
            raise Refused(reporting.past_the_end(place, run.label, run.length_mm))


def _check_stretch(site: Site, found: Referral) -> None:
    """Raises Refused for half a stretch, an unknown cause, and what is noted already."""
    if found.cause not in Referral.Cause.values:
        raise Refused(refusals.no_cause())
    start, end = found.from_mm, found.to_mm
    if (start is None) != (end is None):
        raise Refused(refusals.half_a_stretch())
    if start is not None and end is not None and end <= start:
        raise Refused(reporting.end_before_start())
    walls = {wall.id: wall for wall in walls_of(site)}
    wall = walls[str(found.wall_run_id)]
    if wall.is_out_of_reach(start or 0, wall.length_mm if end is None else end):
        raise Refused(refusals.noted_already(wall.label))


@transaction.atomic
def show_referral(actor: User, referral: Referral, photos: Iterable[Photo]) -> Referral:
    """Add photos to what was found; they are no part of what was noted."""
    require_applicator(actor)
    lock_site(referral.site_id)
    referral = Referral.objects.select_related("site", "wall_run").get(pk=referral.pk)
    attach_to_referral(actor, referral, photos)
    return referral


@transaction.atomic
def decide_referral(
    actor: User,
    referral: Referral,
    *,
    outcome: str,
    reason: str,
    photos: Iterable[Photo] = (),
    decision_id: uuid.UUID | None = None,
    seen: str | None = None,
) -> ReferralDecision:
    """A licensed technician decides, in their own name and with their reason.

    `seen` is the id of the decision in force that they had before them ("" for none): one that came
    meanwhile is not replaced unread. One `decision_id` is one decision.
    """
    require_applicator(actor)
    site = lock_site(referral.site_id)
    referral = Referral.objects.select_related("site", "wall_run").get(pk=referral.pk)
    known = ReferralDecision.objects.filter(pk=decision_id).first() if decision_id else None
    if known:
        if known.referral_id != referral.pk:
            raise Refused(refusals.another_find())
        return known
    problems = [*_not_theirs(actor), *_not_so(referral, outcome, reason, seen)]
    if problems:
        raise Refused(problems)
    before = referral.in_force
    decision = ReferralDecision.objects.create(
        pk=decision_id or uuid.uuid4(),
        referral=referral,
        outcome=outcome,
        reason=reason.strip(),
        supersedes=before,
        decided_by=actor,
        name=actor.name.strip(),
        licence_number=actor.licence_number.strip(),
        decided_at=_after(before),
    )
    data = {**_about(referral), "decision": str(decision.pk), "outcome": str(outcome)}
    said = {"reason": decision.reason}
    append(site, actor, DECIDED[referral.kind], data, rows=[decision], said=said)
    attach_to_decision(actor, decision, photos)
    if referral.is_termites:
        outbox.termites_decided(decision)
    return decision


def _not_theirs(actor: User) -> list[Problem]:
    """What the actor's account lacks to decide with."""
    lacks = [
        refusals.no_name() if not actor.name.strip() else "",
        refusals.no_licence() if not actor.licence_number.strip() else "",
    ]
    return [Problem(sentence, About.ACCOUNT) for sentence in lacks if sentence]


def _not_so(referral: Referral, outcome: str, reason: str, seen: str | None) -> list[Problem]:
    """Why this can't be decided now."""
    in_force = referral.in_force
    if referral.is_settled:
        return [Problem(refusals.settled())]
    if seen is not None and seen != (str(in_force.pk) if in_force else ""):
        return [Problem(refusals.decided_meanwhile())]
    problems = []
    if outcome not in OUTCOMES[ReferralKind(referral.kind)]:
        problems.append(Problem(refusals.no_outcome()))
    if not reason.strip():
        problems.append(Problem(refusals.no_reason()))
    return problems


def _after(before: ReferralDecision | None) -> datetime:
    """Now, and never before the decision that it takes the place of: clocks differ by a little."""
    now = clock.now()
    if before is None:
        return now
    return max(now, before.decided_at + timedelta(microseconds=1))
