"""The links of invitations: one is shown on the screen once, and each e-mail carries its own.

Their tokens are never stored, only the tokens' SHA-256, so nobody who reads the database can use
them.
"""

import hashlib
import secrets
from dataclasses import dataclass

from django.conf import settings
from django.urls import reverse

from readiness import clock
from readiness.models import Invitation, InvitationLink


@dataclass(frozen=True)
class Invited:
    """An invitation just made, with the link that is shown once and then forgotten."""

    invitation: Invitation
    token: str

    @property
    def link(self) -> str:
        """The full address to open."""
        return settings.SITE_URL + reverse("accounts:invitation", args=[self.token])


def digest_of(token: str) -> str:
    """What is stored of a token: its SHA-256 as 64 hexadecimal digits."""
    return hashlib.sha256(token.encode()).hexdigest()


def open_invitations():
    """Invitations whose link still works."""
    return Invitation.objects.filter(accepted_at=None, revoked_at=None, expires_at__gt=clock.now())


def new_link(invitation: Invitation) -> tuple[InvitationLink, str]:
    """A link of its own for one e-mail, and its full address, which is stored nowhere."""
    invited = Invited(invitation, secrets.token_urlsafe(32))
    link = invitation.links.create(token_digest=digest_of(invited.token), made_at=clock.now())
    return link, invited.link
