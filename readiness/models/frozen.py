"""What the database itself refuses: which tables and columns, when, and what is then said.

`freeze.py` makes triggers of it, for every program that writes to the database.
"""

from collections.abc import Collection
from dataclasses import dataclass
from typing import NamedTuple

TABLES = {
    "record": "readiness_recordentry",
    "said": "readiness_said",
    "commitment": "readiness_commitment",
    "leaf": "readiness_leaf",
    "tile": "readiness_tile",
    "checkpoint": "readiness_checkpoint",
    "signingkey": "readiness_signingkey",
    "timestamp": "readiness_timestamp",
    "report": "readiness_sitereport",
    "item": "readiness_defectitem",
    "check": "readiness_runcheck",
    "confirmation": "readiness_readinessconfirmation",
    "fix": "readiness_fix",
    "booking": "readiness_booking",
    "put_off": "readiness_putoff",
    "photo": "readiness_photo",
    "measurement": "readiness_photomeasurement",
    "link": "readiness_tradelink",
    "referral": "readiness_referral",
    "decision": "readiness_referraldecision",
    "paper": "readiness_paper",
    "invitation": "readiness_invitation",
    "security": "readiness_securityevent",
}


@dataclass(frozen=True)
class Columns:
    """Columns of a row: the named ones, or with `but` all except those, later ones too."""

    names: tuple[str, ...] = ()
    but: bool = False

    def of(self, there: Collection[str]) -> list[str]:
        """Those of the columns that are there."""
        return [name for name in there if (name in self.names) != self.but]


def only(*names: str) -> Columns:
    return Columns(names)


def all_but(*names: str) -> Columns:
    return Columns(names, but=True)


class Rule(NamedTuple):
    """What is refused: an event on a row where the condition holds.

    An UPDATE is refused where one of the columns would change; without `columns` always.
    """

    subject: str
    event: str
    message: str
    when: str = ""
    columns: Columns | None = None


ITEM_MOVES = (
    "cleaned_wet_at", "state", "state_changed_at", "disputed_at", "disputed_by_id",
    "dispute_reason", "decided_at", "decided_by_id", "decision", "decision_reason",
)  # fmt: skip
WITHDRAWAL = ("withdrawn_at", "withdrawn_by_id", "withdrawn_reason")
REVIEW = ("taken_back_at", "reviewed_at", "reviewed_by_id", "outcome", "reason")
SHOWN_BY_PHOTO = (
    "item_id", "fix_id", "run_check_id", "referral_id", "referral_decision_id", "on_site",
    "before_id", "alignment",
)  # fmt: skip
PLACE = ("latitude", "longitude")
INVITED = ("id", "email", "role", "builder_id", "invited_by_id", "created_at")

APPEND_ONLY = "The Record is append-only."
CHECKPOINTS_STAY = "Checkpoints, their leaves and keys only grow."
STAMPED = "A timestamp stays as the authority gave it."
FROZEN = "An issued report never changes."
SIGNED = "A readiness confirmation stays as it was signed, and is withdrawn once."
REVIEWED = "A fix stays as it was reported, and is taken back or reviewed once."
CLOSED = "A closed booking never changes, and no booking is deleted."
KEPT_DAY = "A day that was put off stays as it was booked."
RECEIVED = "A photo stays as it was received."
MEASURED = "A measurement stays as it was made."
SHARED = "A shared link stays as it was made, and is cancelled once."
REFERRED = "What was found for the technician to decide stays as it was noted."
DECIDED = "A decision of the technician stays as it was made."
MADE = "A paper stays as it was made."
LOGGED = "The security log is never changed."
SENT = "An invitation stays as it was made."
TAKEN = "What is kept is not replaced by another row."

ONLY_GROW = ("leaf", "tile", "checkpoint", "signingkey")
"""Tables whose rows are only ever added."""

ISSUED = "OLD.issued_at IS NOT NULL"
OLD_REPORT_ISSUED = (
    "EXISTS (SELECT 1 FROM readiness_sitereport r "
    "WHERE r.id = OLD.report_id AND r.issued_at IS NOT NULL)"
)
NEW_REPORT_ISSUED = OLD_REPORT_ISSUED.replace("OLD.", "NEW.")
BOOKING_CLOSED = "OLD.state IN ('treated', 'turned_away', 'cancelled')"
PLACE_STAYS = "NEW.removed_at IS NULL OR NEW.latitude IS NOT NULL OR NEW.longitude IS NOT NULL"
IS_MADE = "OLD.state = 'made'"

RULES = (
    Rule("record", "UPDATE", APPEND_ONLY),
    Rule("record", "DELETE", APPEND_ONLY),
    Rule("said", "UPDATE", APPEND_ONLY),
    Rule("said", "DELETE", APPEND_ONLY),
    Rule("commitment", "UPDATE", APPEND_ONLY, columns=only("row", "site_id")),
    Rule("commitment", "DELETE", APPEND_ONLY),
    *(
        Rule(subject, event, CHECKPOINTS_STAY)
        for subject in ONLY_GROW
        for event in ("UPDATE", "DELETE")
    ),
    Rule("timestamp", "UPDATE", STAMPED, IS_MADE),
    Rule("timestamp", "DELETE", STAMPED, IS_MADE),
    Rule("report", "UPDATE", FROZEN, ISSUED, all_but("superseded_at")),
    Rule("report", "DELETE", FROZEN, ISSUED),
    Rule("item", "INSERT", FROZEN, NEW_REPORT_ISSUED),
    Rule("item", "UPDATE", FROZEN, OLD_REPORT_ISSUED, all_but(*ITEM_MOVES)),
    Rule("item", "UPDATE", FROZEN, NEW_REPORT_ISSUED, only("report_id")),
    Rule("item", "DELETE", FROZEN, OLD_REPORT_ISSUED),
    Rule("check", "INSERT", FROZEN, NEW_REPORT_ISSUED),
    Rule("check", "UPDATE", FROZEN, OLD_REPORT_ISSUED, all_but()),
    Rule("check", "UPDATE", FROZEN, NEW_REPORT_ISSUED, only("report_id")),
    Rule("check", "DELETE", FROZEN, OLD_REPORT_ISSUED),
    Rule("confirmation", "UPDATE", SIGNED, "", all_but(*WITHDRAWAL)),
    Rule("confirmation", "UPDATE", SIGNED, "OLD.withdrawn_at IS NOT NULL", all_but()),
    Rule("confirmation", "DELETE", SIGNED),
    Rule("fix", "UPDATE", REVIEWED, "", all_but(*REVIEW)),
    Rule(
        "fix", "UPDATE", REVIEWED, "OLD.taken_back_at IS NOT NULL OR OLD.outcome <> ''", all_but()
    ),
    Rule("fix", "DELETE", REVIEWED),
    Rule("booking", "UPDATE", CLOSED, "", only("id", "site_id")),
    Rule("booking", "UPDATE", CLOSED, BOOKING_CLOSED, all_but()),
    Rule("booking", "DELETE", CLOSED),
    Rule("put_off", "UPDATE", KEPT_DAY),
    Rule("put_off", "DELETE", KEPT_DAY),
    Rule("photo", "UPDATE", RECEIVED, "", all_but(*SHOWN_BY_PHOTO, *PLACE, "removed_at")),
    Rule("photo", "UPDATE", RECEIVED, PLACE_STAYS, only(*PLACE)),
    Rule("photo", "UPDATE", RECEIVED, "OLD.removed_at IS NOT NULL", only("removed_at")),
    Rule("photo", "DELETE", RECEIVED),
    Rule("measurement", "UPDATE", MEASURED, "", all_but("item_id")),
    Rule("measurement", "DELETE", MEASURED),
    Rule("link", "UPDATE", SHARED, "", all_but("revoked_at")),
    Rule("link", "UPDATE", SHARED, "OLD.revoked_at IS NOT NULL", all_but()),
    Rule("link", "DELETE", SHARED),
    Rule("referral", "UPDATE", REFERRED),
    Rule("referral", "DELETE", REFERRED),
    Rule("decision", "UPDATE", DECIDED),
    Rule("decision", "DELETE", DECIDED),
    Rule("paper", "UPDATE", MADE, IS_MADE, all_but("withheld_at")),
    Rule("paper", "UPDATE", MADE, "OLD.withheld_at IS NOT NULL", only("withheld_at")),
    Rule("paper", "DELETE", MADE, IS_MADE),
    Rule("invitation", "UPDATE", SENT, "", only(*INVITED)),
    # Its rows go when they are old enough: DELETE is left to the worker.
    Rule("security", "UPDATE", LOGGED),
)


class Unique(NamedTuple):
    """A place that only one row can have, and that REPLACE would empty for another row.

    `when` says of both rows, `o` and NEW, where that holds; not everywhere.
    """

    columns: tuple[str, ...]
    when: str = ""


def _both(condition: str) -> str:
    return f"{condition.format('o')} AND {condition.format('NEW')}"


ID = Unique(("id",))
PLACES = {
    "record": (
        ID,
        Unique(("site_id", "sequence")),
        Unique(("sequence",), _both("{}.site_id IS NULL")),
        Unique(("digest",)),
    ),
    "said": (ID, Unique(("entry_id", "name"))),
    # The latest takes the place of the one before: an upsert, for the same site.
    "commitment": (Unique(("row",), "o.site_id IS NOT NEW.site_id"),),
    "leaf": (Unique(("position",)), Unique(("entry_id",))),
    "tile": (Unique(("number",)),),
    "checkpoint": (Unique(("number",)), Unique(("size",)), Unique(("previous_id",))),
    "signingkey": (ID, Unique(("public",)), Unique(("replaces_id",))),
    "timestamp": (Unique(("checkpoint_id",)),),
    "report": (
        ID,
        Unique(("supersedes_id",)),
        Unique(("site_id", "number")),
        Unique(("site_id",), _both("{}.issued_at IS NULL")),
        Unique(("site_id",), _both("{0}.issued_at IS NOT NULL AND {0}.superseded_at IS NULL")),
    ),
    "item": (ID, Unique(("report_id", "number"))),
    "check": (ID, Unique(("report_id", "wall_run_id"))),
    "confirmation": (ID,),
    "fix": (
        ID,
        Unique(("item_id",), _both("{0}.taken_back_at IS NULL AND {0}.outcome = ''")),
    ),
    "booking": (
        ID,
        Unique(("site_id",), _both("{}.state IN ('asked', 'offered', 'confirmed')")),
    ),
    "put_off": (ID,),
    "photo": (ID,),
    "measurement": (ID,),
    "link": (ID,),
    "referral": (ID,),
    "decision": (
        ID,
        Unique(("supersedes_id",)),
        Unique(("referral_id",), _both("{}.supersedes_id IS NULL")),
        Unique(("referral_id",), _both("{}.outcome IN ('treated_separately', 'not_termites')")),
    ),
    "paper": (ID, Unique(("subject",))),
    "invitation": (ID,),
    "security": (ID,),
}
"""SQLite's REPLACE deletes the row in whose place it puts another, and fires its DELETE triggers
only on connections with `recursive_triggers`, as ours are: for others the database refuses here.
"""


def is_frozen(table: str, column: str) -> bool:
    """Whether the database refuses, at least at times, to change a column."""
    return any(
        TABLES[rule.subject] == table and (rule.columns or all_but()).of([column])
        for rule in RULES
        if rule.event == "UPDATE"
    )
