"""How a person showed that they are who they sign as: today, on the device that they sign on."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from readiness import clock
from readiness.actions.errors import About, Problem
from readiness.models import ReadinessConfirmation, Site, User
from readiness.wording.refusals import visits as refusals

Method = ReadinessConfirmation.Method


@dataclass(frozen=True)
class Proof:
    """By what, when, on which device; of a code also the address that it was sent to."""

    method: str
    at: datetime
    device: str = ""
    address: str = ""


def proof_problems(actor: User, proof: Proof | None, site: Site) -> list[Problem]:
    """Why the actor can't sign for the site with this proof: it has to be of its own today.

    A code counts only where it was sent to the address that the account has now. It also shows
    whose account it is; of another proof somebody has to vouch for that, for the site's builder.
    """
    if proof is None or not _holds(actor, proof, site.zone):
        return [Problem(refusals.not_shown_who_signs(), About.PROOF)]
    membership = actor.membership_in(site.builder_id)
    if proof.method != Method.CODE and not (membership and membership.vouched_how):
        return [Problem(refusals.nobody_vouches(), About.PROOF)]
    return []


def _holds(actor: User, proof: Proof, zone: ZoneInfo) -> bool:
    """Whether the proof is of today and the actor's own."""
    if proof.at.astimezone(zone).date() != clock.now().astimezone(zone).date():
        return False
    own_address = proof.address.strip().lower() == actor.email.lower()
    return proof.method in Method.values and (proof.method != Method.CODE or own_address)
