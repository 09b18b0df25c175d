"""The finished e-mail of a message: headers, text and HTML, ready to be sent."""

from dataclasses import dataclass
from email.utils import parseaddr

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string

from readiness.messages import letters
from readiness.messages.invitation_links import new_link, open_invitations
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
    if not message.to.is_active:
        raise NotNeeded(emails.cannot_sign_in(message.to))
    # What waited, for papers or for the mail server, must not tell of a site that was closed to
    # them meanwhile.
    if not Site.objects.visible_to(message.to).filter(pk=message.site_id).exists():
        raise NotNeeded(emails.cannot_see_site(message.to))
    letter = letters.write(message)
    context = {"letter": letter, "business": Business.current(), "to": message.to}
    email = _email(message, letter.subject, "message", context)
    if letter.calendar:
        email.attach("treatment.ics", letter.calendar.content, letter.calendar.content_type)
    return Written(email)


def _invitation(message: Message) -> Written:
    invitation = message.invitation
    if not open_invitations().filter(pk=invitation.pk).exists():
        raise NotNeeded(emails.invitation_closed())
    if invitation.messages.filter(queued_at__gt=message.queued_at).exists():
        raise NotNeeded(emails.invitation_replaced())
    link, address = new_link(invitation)
    business = Business.current()
    context = {
        "invitation": invitation,
        "link": address,
        "business": business,
        "until": invitation.expires_at,
        "site_url": settings.SITE_URL,
    }
    subject = both.invitation_subject(business)
    return Written(_email(message, subject, "invitation", context), link)


def _email(message: Message, subject: str, template: str, context: dict) -> EmailMultiAlternatives:
    business = context["business"]
    email = EmailMultiAlternatives(
        subject=" ".join(subject.split()),
        body=render_to_string(f"email/{template}.txt", context),
        to=[message.address],
        reply_to=[business.email] if business.email else None,
        headers={"Message-ID": message_id(message)},
    )
    email.attach_alternative(render_to_string(f"email/{template}.html", context), "text/html")
    return email


def message_id(message: Message) -> str:
    """The same at each try, so that mail programs show an e-mail that went twice once.

    From memory: mail stores commonly keep one copy of a Message-ID; RFC 5322, 3.6.4, has it unique.
    """
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{message.pk}@{domain}>"
