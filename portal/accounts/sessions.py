"""Where people are signed in now: counted by what would really be let in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from allauth.usersessions.models import UserSession
from django.contrib.auth import HASH_SESSION_KEY
from django.contrib.sessions.models import Session
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from readiness.models import User


@dataclass(frozen=True)
class SignedIn:
    """On how many devices somebody is signed in, and when one of them was last used."""

    devices: int = 0
    last_used_at: datetime | None = None


def signed_in(people: Iterable[User]) -> dict:
    """For each person's id, in two queries."""
    by_id = {person.pk: person for person in people}
    noted = list(UserSession.objects.filter(user__in=by_id))
    keys = [session.session_key for session in noted]
    kept = Session.objects.filter(session_key__in=keys, expire_date__gt=timezone.now()).in_bulk()
    live: dict = defaultdict(list)
    for session in noted:
        row, person = kept.get(session.session_key), by_id[session.user_id]
        if row is not None and _lets_in(row, person):
            live[person.pk].append(session.last_seen_at)
    return {pk: SignedIn(len(live[pk]), max(live[pk], default=None)) for pk in by_id}


def _lets_in(row: Session, person: User) -> bool:
    """Not after a new password, nor after all sessions were ended."""
    known = str(row.get_decoded().get(HASH_SESSION_KEY, ""))
    return person.is_active and constant_time_compare(known, person.get_session_auth_hash())
