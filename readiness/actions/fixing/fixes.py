"""What happens to an item after its report is issued: reported fixed, reviewed, disputed."""

import uuid
from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from readiness import clock
from readiness.actions import limits
from readiness.actions.errors import About, Problem, Refused
from readiness.actions.permission import require_applicator, require_contact
from readiness.actions.reporting.attaching import as_stored
from readiness.actions.reporting.carrying import later_of
from readiness.evidence.record import append, lock_site
from readiness.messages import outbox
from readiness.models import DefectItem, Fix, Photo, User
from readiness.models.verbs import Verb
from readiness.photos.flags import check_fix_photo
from readiness.rules.vocabulary import OPEN_STATES, Effect, ItemState
from readiness.wording.refusals import fixing as refusals
from readiness.wording.refusals import photos as photo_refusals


@transaction.atomic
def report_fixed(
    actor: User,
    item: DefectItem,
    *,
    photos: Iterable[Photo],
    note: str = "",
    washed_at: datetime | None = None,
    fix_id: uuid.UUID | None = None,
) -> Fix:
    """The builder says that an item is fixed and shows it; the same `fix_id` twice is one fix.

    `photos` are new photos of this site, at least one. `washed_at` is when the wall was washed,
    where washing was the fix: drying counts from then.
    """
    item = _locked(item)
    site = item.report.site
    require_contact(actor, site)
    known = Fix.objects.filter(pk=fix_id).first() if fix_id else None
    if known:
        if known.item_id != item.pk:
            raise Refused(refusals.fix_of_another_item())
        if not known.is_open:
            raise Refused(_no_longer(known))
        return known
    _must_be_current(item)
    if item.state not in (ItemState.TO_FIX, ItemState.SENT_BACK):
        raise Refused(_state_sentence(item))
    limits.require_room_for_a_fix(actor, site)
    photos = as_stored(photos)
    if not photos:
        raise Refused([Problem(refusals.no_photo_of_fix(item.number), About.ITEM)])
    fix = Fix.objects.create(
        pk=fix_id or uuid.uuid4(),
        item=item,
        said_by=actor,
        said_at=clock.now(),
        note=note,
        washed_at=washed_at,
    )
    digests = [_attach(photo, fix, site) for photo in photos]
    for photo in photos:
        check_fix_photo(photo)
    _set_state(item, ItemState.REPORTED_FIXED)
    append(
        site,
        actor,
        Verb.REPORTED_FIXED,
        {**_about(item), "fix": str(fix.pk), "photos": digests},
        rows=[item, fix, *photos],
        said={"note": note},
    )
    outbox.fix_said(fix)
    return fix


def _no_longer(fix: Fix) -> str:
    """Why what was sent before does not stand for a new fix."""
    if fix.taken_back_at:
        return refusals.fix_was_taken_back(fix.item.number)
    if fix.outcome == Fix.Outcome.ACCEPTED:
        return refusals.fix_was_accepted(fix.item.number)
    return refusals.fix_was_sent_back(fix.item.number)


def _attach(photo: Photo, fix: Fix, site) -> str:
    if photo.site_id != site.pk:
        raise Refused(photo_refusals.photo_of_another_site())
    if photo.shows_something:
        raise Refused(photo_refusals.photo_in_use(str(photo)))
    photo.fix = fix
    photo.save(update_fields=["fix"])
    return photo.original_id


@transaction.atomic
def take_back_fix(actor: User, fix: Fix) -> Fix:
    """Undo a fix that nobody has reviewed yet."""
    item = _locked(fix.item)
    require_contact(actor, item.report.site)
    fix = Fix.objects.get(pk=fix.pk)
    if fix.taken_back_at:
        return fix
    _must_be_current(item)
    if fix.outcome == Fix.Outcome.ACCEPTED:
        raise Refused(refusals.accepted_before_taking_back(item.number))
    if fix.outcome:
        raise Refused(refusals.sent_back_before_taking_back(item.number))
    fix.taken_back_at = clock.now()
    fix.save(update_fields=["taken_back_at"])
    was_sent_back = item.fixes.filter(outcome=Fix.Outcome.SENT_BACK).exists()
    _set_state(item, ItemState.SENT_BACK if was_sent_back else ItemState.TO_FIX)
    data = {**_about(item), "fix": str(fix.pk)}
    append(item.report.site, actor, Verb.FIX_TAKEN_BACK, data, rows=[item, fix])
    return fix


@transaction.atomic
def accept_fix(actor: User, item: DefectItem, *, note: str = "") -> DefectItem:
    """The applicator accepts what the builder said is fixed.

    Refused when there is nothing to review any more: somebody else was faster.
    """
    require_applicator(actor)
    item = _locked(item)
    _must_be_current(item)
    if item.state != ItemState.REPORTED_FIXED:
        raise Refused(_state_sentence(item))
    return _accept(actor, item, note)


@transaction.atomic
def accept_on_site(actor: User, item: DefectItem, *, note: str = "") -> DefectItem:
    """The applicator saw on site that an open item is done, whether or not anyone said so."""
    require_applicator(actor)
    item = _locked(item)
    _must_be_current(item)
    if item.state not in OPEN_STATES:
        raise Refused(_state_sentence(item))
    return _accept(actor, item, note, on_site=True)


def _accept(actor: User, item: DefectItem, note: str, on_site: bool = False) -> DefectItem:
    fix = item.fixes.filter(taken_back_at=None, outcome="").first()
    if fix:
        _review(fix, actor, Fix.Outcome.ACCEPTED, note)
        if fix.washed_at:
            item.cleaned_wet_at = fix.washed_at
    _set_state(item, ItemState.ACCEPTED, "cleaned_wet_at")
    append(
        item.report.site,
        actor,
        Verb.FIX_ACCEPTED,
        {
            **_about(item),
            "fix": str(fix.pk) if fix else None,
            "on_site": on_site,
        },
        rows=[item, fix] if fix else [item],
        said={"note": note},
    )
    outbox.item_reviewed(item, ItemState.ACCEPTED, note)
    return item


@transaction.atomic
def accept_fixes(actor: User, items: Iterable[DefectItem]) -> list[DefectItem]:
    """Accept several items in one go: all of them, or none with the reasons."""
    accepted, problems = [], []
    for item in items:
        try:
            accepted.append(accept_fix(actor, item))
        except Refused as refused:
            problems += refused.problems
    if problems:
        raise Refused(problems)
    return accepted


@transaction.atomic
def send_back(actor: User, item: DefectItem, *, reason: str) -> DefectItem:
    """The applicator sends a fix back, and says why."""
    require_applicator(actor)
    item = _locked(item)
    _must_be_current(item)
    if not reason.strip():
        raise Refused(refusals.no_reason_to_send_back())
    if item.state != ItemState.REPORTED_FIXED:
        raise Refused(_state_sentence(item))
    fix = item.fixes.get(taken_back_at=None, outcome="")
    _review(fix, actor, Fix.Outcome.SENT_BACK, reason)
    _set_state(item, ItemState.SENT_BACK)
    append(
        item.report.site,
        actor,
        Verb.SENT_BACK,
        {**_about(item), "fix": str(fix.pk)},
        rows=[item, fix],
        said={"reason": reason},
    )
    outbox.item_reviewed(item, ItemState.SENT_BACK, reason)
    return item


@transaction.atomic
def disagree(actor: User, item: DefectItem, *, reason: str) -> DefectItem:
    """The builder disagrees with an item; it stays as it is until the applicator decides."""
    item = _locked(item)
    require_contact(actor, item.report.site)
    _must_be_current(item)
    if not reason.strip():
        raise Refused(refusals.no_reason_to_dispute())
    if item.state not in OPEN_STATES:
        raise Refused(_state_sentence(item))
    if item.is_disputed:
        raise Refused(refusals.disputed_already(item.number))
    item.disputed_at, item.disputed_by, item.dispute_reason = clock.now(), actor, reason
    item.decided_at, item.decided_by, item.decision, item.decision_reason = None, None, "", ""
    item.save()
    append(
        item.report.site,
        actor,
        Verb.DISAGREED,
        _about(item),
        rows=[item],
        said={"reason": reason},
    )
    outbox.item_disagreed(item)
    return item


@transaction.atomic
def decide_disagreement(
    actor: User, item: DefectItem, *, stands: bool, reason: str = ""
) -> DefectItem:
    """The applicator decides: the item stands (say why), or is withdrawn."""
    require_applicator(actor)
    item = _locked(item)
    _must_be_current(item)
    if not item.is_disputed:
        raise Refused(refusals.not_disputed(item.number))
    if stands and not reason.strip():
        raise Refused(refusals.no_reason_to_stand())
    choice = DefectItem.Decision.STANDS if stands else DefectItem.Decision.WITHDRAWN
    item.decided_at, item.decided_by = clock.now(), actor
    item.decision, item.decision_reason = choice, reason
    fix = None if stands else item.fixes.filter(taken_back_at=None, outcome="").first()
    if not stands:
        if fix:
            _review(fix, actor, Fix.Outcome.ACCEPTED, reason)
        item.state, item.state_changed_at = ItemState.ACCEPTED, clock.now()
    item.save()
    append(
        item.report.site,
        actor,
        Verb.DISAGREEMENT_DECIDED,
        {**_about(item), "decision": choice.value},
        rows=[item, fix] if fix else [item],
        said={"reason": reason},
    )
    outbox.disagreement_decided(item)
    return item


def _locked(item: DefectItem) -> DefectItem:
    """The item as it stands now, with its site locked for this transaction."""
    site_id = DefectItem.objects.values_list("report__site", flat=True).get(pk=item.pk)
    lock_site(site_id)
    return DefectItem.objects.select_related("report__site__builder", "wall_run").get(pk=item.pk)


def _must_be_current(item: DefectItem) -> None:
    report = item.report
    if report.is_draft:
        raise Refused(refusals.not_issued())
    if report.superseded_at:
        raise Refused([_superseded(item)])
    if item.effect == Effect.RECORD:
        raise Refused(refusals.on_record_only(item.number))


def _superseded(item: DefectItem) -> Problem:
    """Where the thing is now that a later report took the place of this one."""
    later = later_of(item)
    if later is None:
        return Problem(refusals.report_superseded(item.number, item.report.number))
    text = refusals.item_carried_on(item.report.number, later.report.number, later.number)
    return Problem(text, About.ITEM, str(later.pk))


def _state_sentence(item: DefectItem) -> str:
    changed = item.state_changed_at
    since = changed.astimezone(item.report.site.zone) if changed else None
    return refusals.item_stands(item.number, item.state, since)


def _set_state(item: DefectItem, state: str, *more_fields: str) -> None:
    item.state, item.state_changed_at = state, clock.now()
    item.save(update_fields=["state", "state_changed_at", *more_fields])


def _review(fix: Fix, actor: User, outcome: str, reason: str) -> None:
    fix.outcome, fix.reason = outcome, reason
    fix.reviewed_by, fix.reviewed_at = actor, clock.now()
    fix.save(update_fields=["outcome", "reason", "reviewed_by", "reviewed_at"])


def _about(item: DefectItem) -> dict:
    return {"item": str(item.pk), "report": str(item.report_id), "number": item.number}
