"""What the Record covers: which tables, which of their columns, and in whose Record.

Every table and column of the portal is either here or in `NOT_COVERED` with its reason; a test
walks the models, so that none can be forgotten.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import (
    BooleanField,
    DateField,
    ForeignKey,
    IntegerField,
    Model,
    Q,
    UUIDField,
)

from readiness.models import (
    Booking,
    Builder,
    BuilderContact,
    Business,
    DayOff,
    DefectItem,
    Fix,
    Invitation,
    Markup,
    Paper,
    Photo,
    PhotoFlag,
    PhotoMeasurement,
    PutOff,
    ReadinessConfirmation,
    Referral,
    ReferralDecision,
    RunCheck,
    Site,
    SiteReport,
    TradeLink,
    User,
    WallRun,
)

Real = Callable[[type[Model]], type[Model]]
"""Gives the model as the database has it: our own, or in a migration the one of that time."""
More = Callable[[Real, Iterable[Any]], dict[Any, Any]]
"""What other tables say of rows, by their keys."""


@dataclass(frozen=True, eq=False)
class Kept:
    """One table that the Record covers.

    `of_site` is the way from a row to its site, empty for what belongs to the business's own
    Record. `key` names a row there: it stays the same in another installation. Where several rows
    have one key, `nth` is the column that counts them: the first is named by the key
    alone. `without` names the columns that are not covered and why. `more` are further columns that
    stand in other tables. Rows that `when` leaves out are not covered (yet).
    """

    name: str
    model: type[Model]
    of_site: str = ""
    key: str = "pk"
    nth: str = ""
    without: Mapping[str, str] = field(default_factory=dict)
    more: Mapping[str, More] = field(default_factory=dict)
    when: Q = field(default_factory=Q)

    def row_name(self, key: object, nth: int = 1) -> str:
        """A row's name in the Record: "fix/" and its id."""
        return f"{self.name}/{key}" if nth == 1 else f"{self.name}/{key}/{nth}"


def columns_of(kept: Kept, model: type[Model]) -> tuple[str, ...]:
    """The covered columns of the model as it is now or was at a migration."""
    fields = model._meta.concrete_fields
    left_out = {kept.key, kept.nth, *kept.without}
    return tuple(f.attname for f in fields if not f.primary_key and f.attname not in left_out)


def is_plain(model: type[Model], column: str) -> bool:
    """Whether a column's values stand in the Record as they are: codes, ids, numbers, times.

    What people typed, and places, stand there as salted digests.
    """
    found = next((f for f in model._meta.concrete_fields if f.attname == column), None)
    if found is None:
        return False
    plain = BooleanField | DateField | ForeignKey | IntegerField | UUIDField
    return isinstance(found, plain) or bool(found.choices)


def _flags(real, keys) -> dict:
    rows = real(PhotoFlag)._base_manager.filter(photo__in=list(keys))
    columns = ("photo", "code", "sentence", "other_photo", "made_at")
    found: dict[Any, list] = {}
    for key, code, sentence, other, made_at in rows.values_list(*columns):
        one = [code, sentence, str(other) if other else None, made_at.isoformat()]
        found.setdefault(key, []).append(one)
    return {key: sorted(flags) for key, flags in found.items()}


def _file_of_photo(real, keys) -> dict:
    """What was read from the file, once and for all; nothing of one that was deleted."""
    columns = (
        "byte_size", "media_type", "width_px", "height_px", "orientation", "frames", "metadata",
    )  # fmt: skip
    photos = real(Photo)._base_manager.filter(pk__in=list(keys), removed_at=None)
    rows = photos.values_list("pk", *(f"original__{name}" for name in columns))
    return {key: dict(zip(columns, values, strict=True)) for key, *values in rows}


def _linked(model: type[Model], name: str) -> More:
    """The other side of a many-to-many field, as a sorted list of ids."""

    def read(real, keys):
        linked = real(model)._meta.get_field(name)
        own, other = linked.m2m_field_name(), linked.m2m_reverse_field_name()
        rows = linked.remote_field.through._base_manager.filter(**{f"{own}__in": list(keys)})
        found: dict[Any, list] = {}
        for key, value in rows.values_list(f"{own}_id", f"{other}_id"):
            found.setdefault(key, []).append(str(value))
        return {key: sorted(values) for key, values in found.items()}

    return read


def _told(real, keys) -> dict:
    """Who is told of a site's reports: the users of its contacts."""
    found: dict[Any, list] = {}
    through = real(Site)._meta.get_field("notify").remote_field.through
    rows = through._base_manager.filter(site__in=list(keys))
    for key, user in rows.values_list("site_id", "buildercontact__user_id"):
        found.setdefault(key, []).append(str(user))
    return {key: sorted(users) for key, users in found.items()}


SORTED_BY = "worked out from the rest, to sort and search lists by"
ERRAND = "how far a background worker is; nothing is shown by it"
KEPT_FROM_ALL = "a secret, which changes when it is used"

KEPT = (
    Kept(
        "site",
        Site,
        "pk",
        without=dict.fromkeys(
            ("search_text", "need", "need_first_due", "need_until", "to_review", "to_fix"),
            SORTED_BY,
        ),
        more={"notify": _told},
    ),
    Kept("wall", WallRun, "site"),
    Kept("report", SiteReport, "site"),
    Kept("check", RunCheck, "report__site"),
    Kept("item", DefectItem, "report__site"),
    Kept("fix", Fix, "item__report__site"),
    Kept("confirmation", ReadinessConfirmation, "report__site"),
    Kept("booking", Booking, "site"),
    Kept("put_off", PutOff, "booking__site"),
    Kept("link", TradeLink, "site"),
    Kept("referral", Referral, "site"),
    Kept("decision", ReferralDecision, "referral__site"),
    Kept("photo", Photo, "site", more={"flags": _flags, "file": _file_of_photo}),
    Kept("markup", Markup, "photo__site", key="photo_id"),
    Kept("measurement", PhotoMeasurement, "photo__site"),
    Kept(
        "paper",
        Paper,
        "site",
        without={
            **dict.fromkeys(
                ("attempts", "next_try_at", "claimed_by", "given_up_at", "error", "progress"),
                ERRAND,
            ),
            "checkpoint_id": "a checkpoint of this installation, which the paper's bytes hold",
        },
        when=Q(state=Paper.State.MADE),
    ),
    Kept("business", Business),
    Kept("day_off", DayOff),
    Kept(
        "user",
        User,
        without={
            "password": KEPT_FROM_ALL,
            "last_login": "the security log tells each sign-in",
            "session_epoch": "only ends sessions",
        },
    ),
    Kept("builder", Builder),
    Kept(
        "contact",
        BuilderContact,
        key="user_id",
        nth="number",
        more={"sites": _linked(BuilderContact, "sites")},
    ),
    Kept(
        "invitation",
        Invitation,
        more={"sites": _linked(Invitation, "sites")},
    ),
)
"""In the order in which rows are told of: what others hang on comes first."""

OF_SITES = tuple(kept for kept in KEPT if kept.of_site)
OF_BUSINESS = tuple(kept for kept in KEPT if not kept.of_site)
BY_MODEL = {kept.model.__name__: kept for kept in KEPT}
"""By the model's name: in a migration it is another class of the same name."""
BY_NAME = {kept.name: kept for kept in KEPT}

NOT_COVERED: Mapping[str, str] = {
    "readiness.RecordEntry": "the Record itself: each entry is held by the one after it",
    "readiness.Commitment": "what digests were made of: held by the digests",
    "readiness.Said": "texts of entries: held by the digests in them",
    "readiness.Original": "its columns stand with each photo of it; its bytes are its name",
    "readiness.PhotoFlag": "stands with its photo",
    "readiness.FingerprintBand": "an index, made again from the fingerprints",
    "readiness.Leaf": "its place in the tree: held by the checkpoints' signed roots",
    "readiness.Tile": "worked out from the leaves, and held by the same roots",
    "readiness.Checkpoint": "held by its signature, and by those outside the database",
    "readiness.SigningKey": "a public key, which is outside the database too",
    "readiness.Timestamp": "an errand; the authority's signature holds what it answered",
    "readiness.SecurityEvent": "the security log, whose rows go when they are old",
    "readiness.Message": "an errand; what a person reads is in their mailbox",
    "readiness.InvitationLink": KEPT_FROM_ALL,
    "readiness.LastDone": "when the worker last did what it does daily",
    "readiness.SpooledOriginal": "where bytes wait for the store; a photo's digest finds them",
    "readiness.Site_notify": "stands with its site",
    "readiness.BuilderContact_sites": "stands with its contact",
    "readiness.Invitation_sites": "stands with its invitation",
    "readiness.User_groups": "not used",
    "readiness.User_user_permissions": "not used",
}
"""Tables of ours that the Record does not cover, with the reason."""


def key_of(row: Model) -> str:
    """A row's name in the Record: "fix/" and its id."""
    kept = BY_MODEL[type(row).__name__]
    return kept.row_name(getattr(row, kept.key), getattr(row, kept.nth, 1) if kept.nth else 1)


def keys_of(rows: Iterable[Model]) -> list[str]:
    """The names of some rows, to tell of before they are deleted."""
    return [key_of(row) for row in rows]
