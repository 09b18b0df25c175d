"""The links of invitations: each e-mail carries its own, and nobody but its reader sees it.

Their tokens are never stored, only the tokens' SHA-256, so nobody who reads the database can use
them; nor does who invites somebody ever see one.
"""

import hashlib
import secrets
from dataclasses import dataclass

from django.conf import settings
from django.urls import reverse

from readiness import clock
from readiness.models import Invitation, InvitationLink, User


@dataclass(frozen=True)
class Emailed:
    """A link for one e-mail: its row, and the token that the e-mail alone holds."""

    row: InvitationLink
    token: str

    @property
    def address(self) -> str:
        """The full address to open."""
        return settings.SITE_URL + reverse("accounts:invitation", args=[self.token])


def digest_of(token: str) -> str:
    """What is stored of a token: its SHA-256 as 64 hexadecimal digits."""
    return hashlib.sha256(token.encode()).hexdigest()


def open_invitations():
    """Invitations whose link still works."""
    return Invitation.objects.filter(accepted_at=None, revoked_at=None, expires_at__gt=clock.now())


def signs_in_already(invitation: Invitation) -> bool:
    """Whether the invited address has a contact's account in use, which then has to accept."""
    person = User.objects.filter(email=invitation.email, is_active=True).first()
    return person is not None and person.is_contact


def new_link(invitation: Invitation) -> Emailed:
    """A link of its own for one e-mail."""
    token = secrets.token_urlsafe(32)
    row = invitation.links.create(token_digest=digest_of(token), made_at=clock.now())
    return Emailed(row, token)
