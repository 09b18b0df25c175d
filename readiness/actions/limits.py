"""How much one person can cause in 24 hours: far more than a day's work, far less than harm.

Counted from the rows themselves, so that the limits hold over all processes and restarts.
"""

from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Count, QuerySet, Sum

from readiness import clock
from readiness.actions.errors import Refused
from readiness.models import (
    Fix,
    Invitation,
    Message,
    Photo,
    ReadinessConfirmation,
    RecordEntry,
    Site,
    TradeLink,
    User,
)
from readiness.models.verbs import Verb
from readiness.photos.limits import MEBIBYTE
from readiness.photos.refused import PhotoRefused
from readiness.wording.refusals import limits as refusals

DAY = timedelta(hours=24)

PHOTOS = {User.Role.APPLICATOR: 2000, User.Role.BUILDER: 500}
PHOTO_BYTES = {User.Role.APPLICATOR: 12_000 * MEBIBYTE, User.Role.BUILDER: 3_000 * MEBIBYTE}
"""A big site has 100 photos, and a photo is 3 to 5 MB."""

SHARED_LINKS = 100
INVITATIONS = 60
INVITATIONS_TO_ONE = 5

FIXES_TAKEN_BACK = 20
CONFIRMATIONS = 10
DAYS_ASKED_FOR = 20
"""Of one person at one site. Each tells the office by e-mail, and can be undone and done again."""


def require_room_for_a_photo(person: User, filename: str, photo_id: UUID | None = None) -> None:
    """Raises PhotoRefused for a photo over what one person may send; not for one that is here."""
    sent = Photo.objects.filter(uploaded_by=person, received_at__gt=clock.now() - DAY).aggregate(
        photos=Count("pk"), size=Sum("original__byte_size", default=0)
    )
    role = User.Role(person.role)
    if sent["photos"] < PHOTOS[role] and sent["size"] < PHOTO_BYTES[role]:
        return
    if photo_id is None or not Photo.objects.filter(pk=photo_id).exists():
        raise PhotoRefused(filename, "too_many_today")


def require_room_for_a_link(person: User) -> None:
    """Raises Refused for a list over what a builder's person may share.

    The lists of the applicator's are shared by the portal as each report is issued.
    """
    if person.is_applicator:
        return
    made = TradeLink.objects.filter(created_by=person, created_at__gt=clock.now() - DAY)
    if made.count() >= SHARED_LINKS:
        raise Refused(refusals.too_many_links(SHARED_LINKS))


def require_room_for_a_fix(person: User, site: Site) -> None:
    """Raises Refused for a fix of who reported and took back as many as one person may at a site.

    Fixes that stand are not counted: a house may have a hundred.
    """
    back = Fix.objects.filter(said_by=person, item__report__site=site, taken_back_at__isnull=False)
    again = _again_from(back, "said_at", FIXES_TAKEN_BACK)
    if again:
        raise Refused(refusals.too_many_fixes_taken_back(FIXES_TAKEN_BACK, again, site.zone))


def require_room_for_a_confirmation(person: User, site: Site) -> None:
    """Raises Refused for a confirmation over what one person may sign at a site."""
    signed = ReadinessConfirmation.objects.filter(confirmed_by=person, report__site=site)
    again = _again_from(signed, "confirmed_at", CONFIRMATIONS)
    if again:
        raise Refused(refusals.too_many_confirmations(CONFIRMATIONS, again, site.zone))


def require_room_to_ask_for_a_day(person: User, site: Site) -> None:
    """Raises Refused for a request over what one person may send for a site."""
    asked = RecordEntry.objects.filter(site=site, actor=person, verb=Verb.BOOKING_ASKED)
    again = _again_from(asked, "at", DAYS_ASKED_FOR)
    if again:
        raise Refused(refusals.too_many_days_asked_for(DAYS_ASKED_FOR, again, site.zone))


def _again_from(rows: QuerySet, moment: str, limit: int) -> datetime | None:
    """When so few rows are left in the last 24 hours that one more may come; None for now."""
    times = rows.filter(**{f"{moment}__gt": clock.now() - DAY}).order_by(f"-{moment}")
    counted = list(times.values_list(moment, flat=True)[:limit])
    return counted[-1] + DAY if len(counted) == limit else None


def require_room_for_an_invitation(person: User, email: str) -> None:
    """Raises Refused for an invitation by e-mail over what one person may send, or one may get."""
    since = clock.now() - DAY
    mails = Message.objects.filter(invitation__isnull=False, queued_at__gt=since)
    if mails.filter(invitation__email=email).count() >= INVITATIONS_TO_ONE:
        raise Refused(refusals.too_many_invitations_to_one(email, INVITATIONS_TO_ONE))
    by_mail = mails.filter(invitation__invited_by=person).count()
    made = Invitation.objects.filter(invited_by=person, created_at__gt=since).count()
    if max(by_mail, made) >= INVITATIONS:
        raise Refused(refusals.too_many_invitations(INVITATIONS))
