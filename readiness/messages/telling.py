"""Who is told of an issued report and who is not, and why; and who joins the builder later."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db.models import Exists, OuterRef

from readiness import clock
from readiness.facts import SiteState
from readiness.messages import outbox
from readiness.models import BuilderContact, Invitation, Message, Site, SiteReport


class Why(StrEnum):
    """Why somebody of the builder's gets no e-mail about a report."""

    NOT_TICKED = "not_ticked"
    SWITCHED_OFF = "switched_off"
    OTHER_SITES = "other_sites"
    INVITED = "invited"
    LINK_EXPIRED = "link_expired"
    JOINED_LATER = "joined_later"


@dataclass(frozen=True)
class NotTold:
    """A contact, or an address that was invited, and why no e-mail goes there."""

    who: str
    why: Why


def not_told(site: Site, told: Collection, *, issued_at: datetime | None = None) -> list[NotTold]:
    """Everybody of the site's builder but those told, by name; `told` are ids of users.

    Of a report that is out, `issued_at` tells who could not be ticked: they joined later.
    """
    contacts = site.builder.contacts.select_related("user").exclude(user__in=told)
    seeing = set(BuilderContact.objects.seeing(site).values_list("pk", flat=True))
    joined = _joined_since(site, issued_at) if issued_at else frozenset()
    found = [NotTold(str(one.user), _why_not(one, seeing, joined)) for one in contacts]
    invited = site.builder.invitations.filter(accepted_at=None, revoked_at=None)
    for invitation in invited.prefetch_related("sites").order_by("email"):
        found.append(NotTold(invitation.email, _why_not_yet(invitation, site)))
    return found


def _joined_since(site: Site, moment: datetime) -> frozenset[str]:
    """The addresses of those who accepted their invitation after the moment."""
    accepted = site.builder.invitations.filter(accepted_at__gt=moment)
    return frozenset(accepted.values_list("email", flat=True))


def _why_not(contact: BuilderContact, seeing: Collection, joined: Collection[str]) -> Why:
    if not (contact.is_active and contact.user.is_active):
        return Why.SWITCHED_OFF
    if contact.pk not in seeing:
        return Why.OTHER_SITES
    return Why.JOINED_LATER if contact.user.email in joined else Why.NOT_TICKED


def _why_not_yet(invitation: Invitation, site: Site) -> Why:
    if not invitation.all_sites and site not in invitation.sites.all():
        return Why.OTHER_SITES
    return Why.INVITED if invitation.expires_at > clock.now() else Why.LINK_EXPIRED


def tell_newcomer(contact: BuilderContact, invited_at: datetime) -> None:
    """Send who has just joined the reports that they would have been told of.

    Those that were issued since they were invited, and those that nobody was ever told of: who
    joins a builder of a hundred houses gets no hundred e-mails. A site that names whom to tell
    leaves the others out on purpose, and a treated one asks for nothing.
    """
    sites = Site.objects.visible_to(contact.user).open().filter(builder=contact.builder_id)
    reports = SiteReport.objects.current().filter(site__in=sites).defer("snapshot")
    mails = Message.objects.filter(kind="report_issued", about=OuterRef("pk"))
    reports = reports.filter(issued_at__gte=invited_at) | reports.filter(~Exists(mails))
    by_site = {report.site_id: report for report in reports.select_related("site__builder")}
    for state in SiteState.for_list([report.site for report in by_site.values()]):
        if not state.facts().is_treated and contact.user in outbox.builder_side(state.site):
            outbox.report_issued(by_site[state.site.pk], [contact])
