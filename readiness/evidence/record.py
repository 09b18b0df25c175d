"""Appending to the Record of a site or of the business. Checking it is `checking.py`.

Entries hold ids, numbers and digests, never names, addresses or what people wrote: a person's
details can be removed later without touching the chain.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.db import connection
from django.db.models import Model

from readiness import clock, priorities
from readiness.evidence.forms import commit, forms_of, new_salt
from readiness.evidence.leaves import column_key, leaf_of
from readiness.models import Business, RecordEntry, Said, Site, User
from readiness.models.record import CLOCK_SET_BACK, GENESIS
from readiness.models.verbs import Verb

LEAVES_PRIORITY = frozenset(
    {
        Verb.REPORT_STARTED, Verb.REPORT_CHANGED, Verb.REPORT_DROPPED,
        Verb.RUN_CHECKED, Verb.RUN_UNCHECKED, Verb.RUN_CHECK_NOTED,
        Verb.ITEM_ADDED, Verb.ITEM_CHANGED, Verb.ITEM_REMOVED, Verb.LEVELS_CHANGED,
        Verb.PHOTO_ADDED, Verb.PHOTO_ATTACHED, Verb.PHOTO_MARKED, Verb.PHOTO_MEASURED,
        Verb.PHOTO_REMOVED, Verb.PHOTOS_LINED_UP, Verb.LIST_SHARED, Verb.LIST_REVOKED,
        Verb.PAPER_MADE, Verb.PAPER_FAILED, Verb.PAPERS_REPLACED, Verb.MESSAGE_SENT,
        Verb.PERSON_REMOVED,
    }
)  # fmt: skip
"""What is done in a draft, with photos or with papers: it changes nothing for the builder."""


def lock_site(site_id) -> Site:
    """Take the site's row for this transaction, so that actions on one site follow one another.

    SQLite takes the whole database instead (its transactions start as IMMEDIATE).
    """
    _must_be_in_transaction()
    return Site.objects.select_for_update(of=("self",)).get(pk=site_id)


def lock_business() -> None:
    """Take the business's row for this transaction: its own Record is one chain too."""
    _must_be_in_transaction()
    Business.current()  # makes it, where it is not there yet
    Business.objects.select_for_update().get(pk=1)


def _must_be_in_transaction() -> None:
    if not connection.in_atomic_block:
        raise RuntimeError("Lock inside a transaction.")


CLOCKS_DIFFER = timedelta(minutes=10)
"""By how much clocks of machines may differ before an entry says so."""


def append(
    site: Site | None,
    actor: User | None,
    verb: str,
    data: dict,
    at: datetime | None = None,
    *,
    rows: Iterable[Model] = (),
    gone: Iterable[str] = (),
    said: Mapping[str, str] | None = None,
    new_salts: bool = False,
) -> RecordEntry:
    """Append one entry to the Record of the site, or of the business; in the transaction of what it
    records.

    `data` must be JSON as it stands: strings, whole numbers, booleans, lists and dicts of them.
    `rows` are what was made or changed: saved before, as their digests are of what is stored.
    `gone` names rows that were deleted (`kept.keys_of`). `said` are texts that somebody wrote,
    which are kept beside the chain. The site's rank in lists is worked out here, for every action.
    """
    lock_site(site.pk) if site else lock_business()
    last = RecordEntry.objects.filter(site=site).order_by("-sequence").first()
    forms = forms_of(rows, new_salts=new_salts)
    texts = _texts(said or {})
    entry = RecordEntry(
        site=site,
        sequence=last.sequence + 1 if last else 1,
        actor=actor,
        verb=verb,
        data=data | _digests_of(texts),
        rows={form.row: form.digest for form in forms} | dict.fromkeys(gone),
        previous_digest=last.digest if last else GENESIS,
    )
    _set_time(entry, at or clock.now(), last)
    entry.digest = entry.computed_digest()
    entry.save(force_insert=True)
    _keep_texts(entry, texts)
    commit(forms, entry)
    if site and verb not in LEAVES_PRIORITY:
        priorities.store(site)
    return entry


def _texts(said: Mapping[str, str]) -> list[Said]:
    return [Said(name=name, text=text, salt=new_salt()) for name, text in said.items() if text]


def _digests_of(texts: list[Said]) -> dict:
    return {"said": {text.name: said_digest(text) for text in texts}} if texts else {}


def said_digest(text: Said) -> str:
    """What an entry holds of a text that was written with it."""
    return leaf_of(column_key(text.salt, text.name), text.text)


def _keep_texts(entry: RecordEntry, texts: list[Said]) -> None:
    for text in texts:
        text.entry = entry
    if texts:
        Said.objects.bulk_create(texts)


def _set_time(entry: RecordEntry, at: datetime, last: RecordEntry | None) -> None:
    """Never before the entry before it: clocks of several machines differ by a little.

    By more, an entry keeps its own time and says that a clock was set back.
    """
    entry.at = at
    if last is None or at >= last.at:
        return
    if last.at - at <= CLOCKS_DIFFER:
        entry.at = last.at
    else:
        entry.data = entry.data | {CLOCK_SET_BACK: True}
