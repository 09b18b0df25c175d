"""How a site's Record reads, entry by entry, to the office and to the builder."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

from readiness.models import DefectItem, Paper, RecordEntry, User
from readiness.models.verbs import Verb
from readiness.rules.defects.catalogue import TRADES, get_kind
from readiness.rules.words import listed
from readiness.wording import dates, people, visits
from readiness.wording.record_runs import runs_of
from readiness.wording.referrals import outcome_words


@dataclass(frozen=True)
class Line:
    """An entry as a person reads it: when (at the site), who, what, and the details."""

    sequence: int
    at: datetime
    who: str
    side: str
    what: str
    details: str
    digest: str


@dataclass(frozen=True)
class Fold:
    """Lines that are shown as one until they are opened; `words` is empty for a single line."""

    words: str
    lines: list[Line]

    @property
    def newest(self) -> Line:
        return self.lines[0]

    @property
    def oldest(self) -> Line:
        return self.lines[-1]

    @property
    def when(self) -> str:
        """ "9:05 am to 9:29 am on Mon 16 November 2026"."""
        first, last = dates.time_of_day(self.oldest.at), dates.time_of_day(self.newest.at)
        if first == last:
            return dates.moment(self.newest.at)
        return _("%(first)s to %(last)s") % {"first": first, "last": dates.moment(self.newest.at)}


def folds(
    entries: Iterable[RecordEntry],
    zone: ZoneInfo,
    details: Collection[str],
    names: Mapping[str, str] | None = None,
) -> list[Fold]:
    """The lines of entries (newest first, their actors read), runs of like ones folded.

    `details` is what its reader is told: `OFFICE`, `BUILDER` or `BUSINESS`. `names` says what walls
    and people are called, by their id.
    """
    return [
        Fold(run.words, [_line(entry, zone, details, names or {}) for entry in run.entries])
        for run in runs_of(entries, zone)
    ]


def verb_words(verb: str, number: int | None = None) -> str:
    """What was done, with the number of its item or report; an unknown verb as its own words."""
    plain, numbered = WORDS.get(verb, (verb.replace("_", " ").capitalize(), ""))
    if number is None:
        return _(plain)
    if not numbered:
        return f"{_(plain)} ({number})"
    return _(numbered) % {"number": number}


def _line(
    entry: RecordEntry, zone: ZoneInfo, details: Collection[str], names: Mapping[str, str]
) -> Line:
    return Line(
        sequence=entry.sequence,
        at=entry.at.astimezone(zone),
        who=_who(entry),
        side=_side(entry.actor),
        what=verb_words(entry.verb, entry.data.get("number")),
        details=_details(entry.told, details, names),
        digest=entry.digest,
    )


def _who(entry: RecordEntry) -> str:
    if entry.actor_id is None:
        return _("The portal")
    return str(entry.actor) if entry.actor else _("Somebody whose details were removed")


def _side(actor: User | None) -> str:
    if actor is None or not actor.role:
        return ""
    return _("applicator") if actor.role == User.Role.APPLICATOR else _("builder")


# What else an entry says; ids and digests stay out of sight


def _details(data: dict, wanted: Collection[str], names: Mapping[str, str]) -> str:
    named = {key: names[data[key]] for key in NAMED if data.get(key) in names}
    data = data | named
    parts = (DETAILS[name](data) for name in wanted if data.get(name))
    return "; ".join(part for part in parts if part)


NAMED = ("wall", "person", "builder", "invitation")
"""What an entry has by its id."""


def _kind(data: dict) -> str:
    """Of a paper, or of a defect, which may be one that was taken out of the catalogue since."""
    kind = str(data["kind"])
    return Paper.Kind(kind).label if kind in Paper.Kind.values else get_kind(kind).name


def _named(key: str) -> Callable[[dict], str]:
    """What a wall or a person is called; nothing where only an id is known."""

    def say(data: dict) -> str:
        name = str(data[key])
        return "" if AN_ID.fullmatch(name) else name

    return say


AN_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def _settings(data: dict) -> str:
    """Each setting that was changed, with its old and its new value."""
    before, after = json.loads(data["before"]), json.loads(data["after"])
    if "rule_overrides" in before:
        before, after = before["rule_overrides"], after["rule_overrides"]
    changed = [key for key in sorted({*before, *after}) if before.get(key) != after.get(key)]
    return "; ".join(
        _("%(setting)s: %(before)s, now %(after)s")
        % {
            "setting": key.replace("_", " "),
            "before": _value(before.get(key)),
            "after": _value(after.get(key)),
        }
        for key in changed
    )


def _rights(data: dict) -> str:
    """What somebody may do and see, and what it was before."""
    before, after = people.given(data.get("rights_before")), people.given(data["rights"])
    if not before:
        return after
    return _("%(before)s; now %(after)s") % {"before": before, "after": after}


def _factors(data: dict) -> str:
    """What somebody had as a second factor."""
    names = {"totp": _("authenticator app"), "webauthn": _("passkey")}
    had = listed(names[one] for one in data["factors_before"] if one in names)
    return _("it was: %(factors)s") % {"factors": had} if had else ""


def _value(value: object) -> str:
    """A setting as it was typed; a rule value that is not set has its default."""
    if value is None:
        return _("the default")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return f"“{value}”"


def _day(data: dict) -> str:
    """The day and half-day of a booking."""
    try:
        day = dates.day(date.fromisoformat(str(data["day"])))
    except ValueError:
        return ""
    return f"{day}, {data['half']}" if data.get("half") else day


def _preferences(data: dict) -> str:
    """The half-days that were asked for."""
    return ", ".join(
        f"{dates.long_day(date.fromisoformat(wish['date']))} {wish['half']}"
        for wish in data["preferences"]
    )


def _walls(data: dict) -> str:
    walls = data["walls"]
    labels = [wall.get("label", "") for wall in walls] if isinstance(walls, list) else []
    if any(labels):  # up to version 0.2 an entry held them
        return listed(labels)
    walls = len(walls) if isinstance(walls, list) else walls
    if not isinstance(walls, int):
        return ""
    return ngettext("%(count)d wall", "%(count)d walls", walls) % {"count": walls}


def _replaced_by(data: dict) -> str:
    number = data["by"]
    if not isinstance(number, int):
        return ""
    return _("report %(number)s replaces it") % {"number": number}


def _items(data: dict) -> str:
    count = data["items"]
    if not isinstance(count, int):
        return ""
    return ngettext("%(count)d item", "%(count)d items", count) % {"count": count}


def _decision(data: dict) -> str:
    words = {
        DefectItem.Decision.STANDS: _("item kept"),
        DefectItem.Decision.WITHDRAWN: _("item withdrawn"),
    }
    return words.get(data["decision"], "")


DETAILS: Mapping[str, Callable[[dict], str]] = {
    "kind": _kind,
    "wall": _named("wall"),
    "person": _named("person"),
    "builder": _named("builder"),
    "invitation": _named("invitation"),
    "trade": lambda data: TRADES.get(data["trade"], ""),
    "day": _day,
    "cause": lambda data: visits.cause_words(data["cause"]),
    "preferences": _preferences,
    "walls": _walls,
    "by": _replaced_by,
    "items": _items,
    "fields": lambda data: listed(str(name).replace("_", " ") for name in data["fields"]),
    "used_ml": lambda data: _("%(litres)s L used") % {"litres": f"{data['used_ml'] / 1000:g}"},
    "batch": lambda data: _("batch %(number)s") % {"number": data["batch"]},
    "decision": _decision,
    "outcome": lambda data: outcome_words(data["outcome"]),
    "reason": lambda data: f"“{data['reason']}”",
    "note": lambda data: f"“{data['note']}”",
    "before": _settings,
    "rights": _rights,
    "factors_before": _factors,
    "day_off_before": lambda data: _("it was: %(entry)s") % {"entry": data["day_off_before"]},
    "day_off": lambda data: str(data["day_off"]),
}

OF_THE_BUSINESS = (
    "before", "builder", "rights", "factors_before", "day_off_before", "day_off",
)  # fmt: skip
OFFICE = tuple(name for name in DETAILS if name not in OF_THE_BUSINESS)
BUILDER = (
    "kind", "trade", "day", "cause", "preferences", "by", "decision", "outcome", "reason", "note",
)  # fmt: skip
BUSINESS = (
    "person", "builder", "invitation", "before", "rights", "factors_before", "day_off",
    "day_off_before",
)  # fmt: skip
"""What each side is told of what an entry keeps."""


WORDS: Mapping[str, tuple[str, str]] = {
    Verb.SITE_ADDED: (later("Added the site"), ""),
    Verb.SITE_CHANGED: (later("Changed the site's details"), ""),
    Verb.WALLS_CHANGED: (later("Changed the walls"), ""),
    Verb.WALLS_COPIED: (later("Copied the walls from another site"), ""),
    Verb.LEVELS_CHANGED: (later("Changed the levels of a wall"), ""),
    Verb.RAIN_NOTED: (later("Noted when the rain stopped"), ""),
    Verb.SITE_CLOSED: (later("Archived the site"), ""),
    Verb.SITE_REOPENED: (later("Reopened the site"), ""),
    Verb.REPORT_STARTED: (later("Started a report"), ""),
    Verb.REPORT_CHANGED: (later("Changed the draft report"), ""),
    Verb.REPORT_DROPPED: (later("Deleted a draft report"), ""),
    Verb.RUN_CHECKED: (later("Checked a wall"), ""),
    Verb.RUN_CHECK_NOTED: (later("Added a note to a wall check"), ""),
    Verb.RUN_UNCHECKED: (later("Undid the check of a wall"), ""),
    Verb.ITEM_ADDED: (later("Added an item"), later("Added item %(number)s")),
    Verb.ITEM_CHANGED: (later("Changed an item"), later("Changed item %(number)s")),
    Verb.ITEM_REMOVED: (
        later("Removed an item from the draft"),
        later("Removed item %(number)s from the draft"),
    ),
    Verb.REPORT_ISSUED: (later("Issued the report"), later("Issued report %(number)s")),
    Verb.REPORT_SUPERSEDED: (later("Replaced the report"), later("Replaced report %(number)s")),
    Verb.REPORTED_FIXED: (later("Reported an item fixed"), later("Reported item %(number)s fixed")),
    Verb.FIX_TAKEN_BACK: (later("Took back a fix"), later("Took back the fix of item %(number)s")),
    Verb.FIX_ACCEPTED: (later("Accepted an item"), later("Accepted item %(number)s")),
    Verb.SENT_BACK: (later("Sent an item back"), later("Sent item %(number)s back")),
    Verb.DISAGREED: (later("Disputed an item"), later("Disputed item %(number)s")),
    Verb.DISAGREEMENT_DECIDED: (
        later("Decided a dispute"),
        later("Decided the dispute on item %(number)s"),
    ),
    Verb.READY_CONFIRMED: (
        later("Confirmed readiness"),
        later("Confirmed readiness on report %(number)s"),
    ),
    Verb.CONFIRMATION_WITHDRAWN: (later("Withdrew the confirmation"), ""),
    Verb.BOOKING_ASKED: (later("Asked for a booking"), ""),
    Verb.BOOKING_OFFERED: (later("Offered a day"), ""),
    Verb.BOOKING_CONFIRMED: (later("Confirmed the booking"), ""),
    Verb.BOOKING_DECLINED: (later("Turned down the offered day"), ""),
    Verb.BOOKING_PUT_OFF: (later("Put the booked day off"), ""),
    Verb.BOOKING_CANCELLED: (later("Cancelled the booking"), ""),
    Verb.TREATED: (later("Treated the site"), ""),
    Verb.TURNED_AWAY: (later("Turned away: not ready on the day"), ""),
    Verb.TERMITES_FOUND: (later("Found live termites or mud tubes"), ""),
    Verb.TERMITES_DECIDED: (later("Decided about live termites"), ""),
    Verb.ACCESS_NOTED: (later("Noted that nobody can reach a wall"), ""),
    Verb.ACCESS_DECIDED: (later("Decided about a wall that nobody can reach"), ""),
    Verb.LIST_SHARED: (later("Shared a trade's fix list"), ""),
    Verb.LIST_REVOKED: (later("Stopped sharing a fix list"), ""),
    Verb.PHOTO_ADDED: (later("Added a photo"), ""),
    Verb.PHOTO_ATTACHED: (
        later("Attached a photo"),
        later("Attached a photo to item %(number)s"),
    ),
    Verb.PHOTO_REMOVED: (later("Deleted a photo"), ""),
    Verb.PHOTO_MARKED: (later("Marked up a photo"), ""),
    Verb.PHOTO_MEASURED: (later("Measured on a photo"), ""),
    Verb.PHOTOS_LINED_UP: (later("Lined up a photo with an earlier one"), ""),
    Verb.PAPER_MADE: (later("Made a paper"), ""),
    Verb.PAPER_FAILED: (later("A paper could not be made"), ""),
    Verb.PAPERS_REPLACED: (
        later("Replaced papers; only the applicator sees the earlier editions"),
        "",
    ),
    Verb.PERSON_INVITED: (later("Invited a person"), ""),
    Verb.INVITATION_RENEWED: (later("Sent an invitation again"), ""),
    Verb.INVITATION_CANCELLED: (later("Cancelled an invitation"), ""),
    Verb.INVITATION_ACCEPTED: (later("Accepted an invitation"), ""),
    Verb.ACCESS_CHANGED: (later("Changed what a person may see and do"), ""),
    Verb.ACCOUNT_VOUCHED: (later("Vouched for an account"), ""),
    Verb.SWITCHED_ON: (later("Let a person sign in again"), ""),
    Verb.SWITCHED_OFF: (later("Stopped a person from signing in"), ""),
    Verb.OWNERSHIP_CHANGED: (later("Changed who is an owner"), ""),
    Verb.LICENCE_SET: (later("Changed a licence number"), ""),
    Verb.SECOND_FACTOR_RESET: (later("Reset a second factor"), ""),
    Verb.PROFILE_CHANGED: (later("Changed their own details"), ""),
    Verb.OWNER_ADDED: (later("Added an owner from the server"), ""),
    Verb.BUILDER_ADDED: (later("Added a builder"), ""),
    Verb.BUILDER_CHANGED: (later("Changed a builder's details"), ""),
    Verb.BUSINESS_CHANGED: (later("Changed the business's settings"), ""),
    Verb.RULE_VALUES_CHANGED: (later("Changed rule values"), ""),
    Verb.DAY_OFF_ADDED: (later("Added a local day off"), ""),
    Verb.DAY_OFF_CHANGED: (later("Changed a local day off"), ""),
    Verb.DAY_OFF_REMOVED: (later("Removed a local day off"), ""),
    Verb.DIGESTS_BEGUN: (
        later(
            "Upgraded the portal: from here on each change leaves its fingerprint here. What was "
            "there before was taken as it was found"
        ),
        "",
    ),
    Verb.MESSAGE_SENT: (later("Sent an e-mail"), ""),
    Verb.PERSON_REMOVED: (later("Removed a person's details"), ""),
    Verb.IMPORTED: (later("Imported from an export"), ""),
    Verb.CORRECTED: (later("Corrected stored data in an upgrade of the portal"), ""),
}
"""Each verb without and with the number of the item or report that it is about ("": never)."""
