"""Appending to a site's Record. Checking it is `readiness.evidence`.

Entries hold ids, numbers and digests, never names or e-mail addresses: a person's details can be
removed later without touching the chain.
"""

from django.db import connection

from readiness import clock, priorities
from readiness.models import RecordEntry, Site, User
from readiness.models.record import GENESIS
from readiness.models.verbs import Verb

LEAVES_PRIORITY = frozenset(
    {
        Verb.REPORT_STARTED, Verb.REPORT_CHANGED, Verb.REPORT_DROPPED,
        Verb.RUN_CHECKED, Verb.RUN_UNCHECKED, Verb.RUN_CHECK_NOTED,
        Verb.ITEM_ADDED, Verb.ITEM_CHANGED, Verb.ITEM_REMOVED, Verb.LEVELS_CHANGED,
        Verb.PHOTO_ADDED, Verb.PHOTO_ATTACHED, Verb.PHOTO_MARKED, Verb.PHOTO_MEASURED,
        Verb.PHOTO_REMOVED, Verb.LIST_SHARED, Verb.LIST_REVOKED, Verb.PAPER_MADE,
        Verb.PAPER_FAILED, Verb.PAPERS_REPLACED, Verb.MESSAGE_SENT, Verb.PERSON_REMOVED,
    }
)  # fmt: skip
"""What is done in a draft, with photos or with papers: it changes nothing for the builder."""


def lock_site(site_id) -> Site:
    """Take the site's row for this transaction, so that actions on one site follow one another.

    SQLite takes the whole database instead (its transactions start as IMMEDIATE).
    """
    if not connection.in_atomic_block:
        raise RuntimeError("Lock a site inside a transaction.")
    return Site.objects.select_for_update(of=("self",)).get(pk=site_id)


def append(site: Site, actor: User | None, verb: str, data: dict, at=None) -> RecordEntry:
    """Append one entry to the site's Record; call it in the transaction of what it records.

    `data` must be JSON as it stands: strings, whole numbers, booleans, lists and dicts of them.
    Save what was changed before: the site's rank in lists is worked out here, for every action.
    """
    lock_site(site.pk)
    last = RecordEntry.objects.filter(site=site).order_by("-sequence").first()
    entry = RecordEntry(
        site=site,
        sequence=last.sequence + 1 if last else 1,
        at=at or clock.now(),
        actor=actor,
        verb=verb,
        data=data,
        previous_digest=last.digest if last else GENESIS,
    )
    entry.digest = entry.computed_digest()
    entry.save(force_insert=True)
    if verb not in LEAVES_PRIORITY:
        priorities.store(site)
    return entry
