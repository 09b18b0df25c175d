"""The finished e-mail of a message: headers, text and HTML, ready to be sent."""

from dataclasses import dataclass
from email.utils import formataddr, parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string

from readiness.evidence import checkpoints, notes
from readiness.messages import letters
from readiness.messages.changes import Change
from readiness.messages.invitation_links import new_link, open_invitations, signs_in_already
from readiness.models import Business, InvitationLink, Message, Site
from readiness.wording import emails
from readiness.wording.letters import both


class NotNeeded(Exception):
    """The e-mail is not to go any more; the reason is in words for the office."""


@dataclass(frozen=True)
class Written:
    """An e-mail, and the link that it alone carries, if it carries one."""

    email: EmailMultiAlternatives
    link: InvitationLink | None = None


def write_email(message: Message) -> Written:
    """The e-mail of a message, from how things stand now.

    Raises NotNeeded when nobody is to get it any more.
    """
    if message.invitation is not None:
        return _invitation(message)
    if not (message.to.is_active or _tells_that_it_is_off(message)):
        raise NotNeeded(emails.cannot_sign_in(message.to))
    # What waited, for papers or for the mail server, must not tell of a site that was closed to
    # them meanwhile.
    visible = Site.objects.visible_to(message.to)
    if message.site_id and not visible.filter(pk=message.site_id).exists():
        raise NotNeeded(emails.cannot_see_site(message.to))
    if _is_of_a_builder_that_they_left(message):
        raise NotNeeded(emails.cannot_sign_in(message.to))
    letter = letters.write(message)
    context = {"letter": letter, "business": Business.current(), "to": message.to}
    anchor = _anchor()
    if anchor:
        context["checkpoint"] = both.checkpoint(anchor.size, anchor.root.hex())
    email = _email(message, letter.subject, "message", context)
    if anchor:
        email.extra_headers[notes.HEADER] = anchor.as_header()
    if letter.calendar:
        email.attach("treatment.ics", letter.calendar.content, letter.calendar.content_type)
    return Written(email)


def _is_of_a_builder_that_they_left(message: Message) -> bool:
    """About a builder's people, to one of them who signs in for another builder only by now."""
    builder = message.details.get("builder")
    if message.kind != "account_added" or builder is None:
        return False
    return not message.to.memberships.filter(builder=builder, is_active=True).exists()


def _tells_that_it_is_off(message: Message) -> bool:
    """The last e-mail to an account: that it was switched off."""
    return message.details.get("change") == Change.SWITCHED_OFF


def _anchor() -> notes.Note | None:
    """The newest checkpoint: an e-mail lies where nobody who keeps our database can change it.

    What signs somebody in (codes, invitations) carries none, as it is not to be shown around.
    """
    newest = checkpoints.newest()
    return checkpoints.note_of(newest) if newest else None


def _invitation(message: Message) -> Written:
    invitation = message.invitation
    if not open_invitations().filter(pk=invitation.pk).exists():
        raise NotNeeded(emails.invitation_closed())
    if invitation.messages.filter(queued_at__gt=message.queued_at).exists():
        raise NotNeeded(emails.invitation_replaced())
    link = new_link(invitation)
    business = Business.current()
    context = {
        "invitation": invitation,
        "link": link.address,
        "business": business,
        "until": invitation.expires_at,
        "is_known": signs_in_already(invitation),
        "site_url": settings.SITE_URL,
    }
    subject = both.invitation_subject(business)
    return Written(_email(message, subject, "invitation", context), link.row)


def _email(message: Message, subject: str, template: str, context: dict) -> EmailMultiAlternatives:
    business = context["business"]
    email = EmailMultiAlternatives(
        subject=" ".join(subject.split()),
        body=render_to_string(f"email/{template}.txt", context),
        from_email=sender(business),
        to=[message.address],
        reply_to=[business.email] if business.email else None,
        headers={"Message-ID": message_id(message)},
    )
    email.attach_alternative(render_to_string(f"email/{template}.html", context), "text/html")
    return email


def sender(business: Business) -> str:
    """Whom an e-mail is from: the business by name, at the address that this portal sends from.

    While the business has no name yet, as that address is set.
    """
    if business.name == Business._meta.get_field("name").default:
        return settings.DEFAULT_FROM_EMAIL
    return formataddr((business.name, parseaddr(settings.DEFAULT_FROM_EMAIL)[1]))


def message_id(message: Message) -> str:
    """The same at each try, so that mail programs show an e-mail that went twice once.

    From memory: mail stores commonly keep one copy of a Message-ID; RFC 5322, 3.6.4, has it unique.
    """
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{message.pk}@{domain}>"
