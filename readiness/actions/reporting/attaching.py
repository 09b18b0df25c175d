"""Giving photos that were sent to what they show: an item, a checked wall, a referral."""

from collections.abc import Iterable

from readiness.actions.errors import Refused
from readiness.evidence.record import append
from readiness.models import (
    DefectItem,
    Photo,
    Referral,
    ReferralDecision,
    RunCheck,
    Site,
    User,
)
from readiness.models.verbs import Verb
from readiness.wording.refusals import photos as refusals


def as_stored(photos: Iterable[Photo]) -> list[Photo]:
    """Each photo once, as it is now that its site is locked.

    What a view read before may show something else by now: one upload can be named twice.
    """
    wanted = dict.fromkeys(photo.pk for photo in photos)
    found = Photo.objects.kept().with_originals().select_related("site").in_bulk(list(wanted))
    return [found[pk] for pk in wanted if pk in found]


def attach_photos(actor: User, item: DefectItem, photos: Iterable[Photo]) -> None:
    """Attach photos of the same site that belong to nothing yet to an item."""
    _attach(actor, item.report.site, photos, "item", item)


def attach_to_check(actor: User, site: Site, check: RunCheck, photos: Iterable[Photo]) -> None:
    """Attach photos of the site that belong to nothing yet to the check of one of its walls."""
    _attach(actor, site, photos, "run_check", check)


def attach_to_referral(actor: User, referral: Referral, photos: Iterable[Photo]) -> None:
    """Attach photos of the site that belong to nothing yet to what a technician decides."""
    _attach(actor, referral.site, photos, "referral", referral)


def attach_to_decision(actor: User, decision: ReferralDecision, photos: Iterable[Photo]) -> None:
    """Attach photos of the site that belong to nothing yet to a technician's decision."""
    _attach(actor, decision.referral.site, photos, "referral_decision", decision)


def _attach(
    actor: User,
    site: Site,
    photos: Iterable[Photo],
    field: str,
    owner: DefectItem | RunCheck | Referral | ReferralDecision,
) -> None:
    """Give photos to what they show; a picture that it has already is not added again.

    A form that is sent again because its answer was lost brings its files again, as new photos.
    Those stay with nothing and are swept (`sweep_unattached`).
    """
    there = set(owner.photos.kept().values_list("original", flat=True))
    for photo in as_stored(photos):
        if photo.site_id != site.pk:
            raise Refused(refusals.photo_of_another_site())
        if getattr(photo, f"{field}_id") == owner.pk:
            continue
        if photo.shows_something:
            raise Refused(refusals.photo_in_use(str(photo)))
        if photo.original_id in there:
            continue
        there.add(photo.original_id)
        setattr(photo, field, owner)
        photo.save(update_fields=[field])
        append(
            site,
            actor,
            Verb.PHOTO_ATTACHED,
            {"photo": str(photo.pk), "sha256": photo.original_id, field: str(owner.pk)},
            rows=[photo],
        )
