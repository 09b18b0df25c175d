"""Which rows belong to a site, in the order in which they can be brought back."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Model, Q

from readiness.models import (
    Booking,
    Builder,
    BuilderContact,
    DefectItem,
    Fix,
    Markup,
    Message,
    Original,
    Paper,
    Photo,
    PhotoFlag,
    PhotoMeasurement,
    PutOff,
    ReadinessConfirmation,
    RecordEntry,
    Referral,
    ReferralDecision,
    RunCheck,
    Site,
    SiteReport,
    TradeLink,
    User,
    WallRun,
)


@dataclass(frozen=True)
class Part:
    """One file of rows: its name, its model, and the columns that stay behind.

    `since` is the place in `FORMATS` from which on every export has the file.
    """

    name: str
    model: type[Model]
    without: tuple[str, ...] = ()
    since: int = 0


NEVER_OF_A_USER = ("password", "last_login", "is_superuser", "is_owner", "session_epoch")
# A paper's checkpoint is in the file itself, and of the installation that signed it.
# Passwords never leave; keys that the database hands out are handed out anew, and what lists are
# sorted and searched by is worked out anew.
WORKED_OUT_OF_A_SITE = (
    "search_text", "need", "need_first_due", "need_until", "to_review", "to_fix",
)  # fmt: skip
RIGHTS_OF_A_CONTACT = ("role", "vouched_how", "vouched_at", "vouched_by_id")
# Given anew where they come to, by whoever switches them on there.
PARTS = (
    Part("builder", Builder, ("notes",)),
    Part("users", User, NEVER_OF_A_USER),
    Part("contacts", BuilderContact, ("id", "number", "all_sites", *RIGHTS_OF_A_CONTACT)),
    Part("site", Site, WORKED_OUT_OF_A_SITE),
    Part("wall_runs", WallRun),
    Part("reports", SiteReport),
    Part("checks", RunCheck),
    Part("items", DefectItem),
    Part("fixes", Fix),
    Part("confirmations", ReadinessConfirmation),
    Part("bookings", Booking),
    Part("put_offs", PutOff, since=2),
    Part("trade_links", TradeLink),
    Part("referrals", Referral, since=2),
    Part("decisions", ReferralDecision, since=2),
    Part("originals", Original),
    Part("photos", Photo),
    Part("flags", PhotoFlag, ("id",)),
    Part("markup", Markup, ("id",)),
    Part("measurements", PhotoMeasurement),
    Part("papers", Paper, ("checkpoint_id",)),
    Part("messages", Message),
)


def rows_of(site: Site, part: Part) -> Iterator:
    """The site's rows of one part, in a settled order."""
    by_site = {
        Builder: Q(pk=site.builder_id),
        User: Q(pk__in=people_of(site)),
        BuilderContact: Q(user__in=people_of(site), builder=site.builder_id),
        Site: Q(pk=site.pk),
        RunCheck: Q(report__site=site),
        DefectItem: Q(report__site=site),
        Fix: Q(item__report__site=site),
        ReadinessConfirmation: Q(report__site=site),
        PutOff: Q(booking__site=site),
        ReferralDecision: Q(referral__site=site),
        Original: Q(photos__site=site),
        PhotoFlag: Q(photo__site=site),
        Markup: Q(photo__site=site),
        PhotoMeasurement: Q(photo__site=site),
    }
    rows = part.model._default_manager.filter(by_site.get(part.model, Q(site=site))).distinct()
    return rows.order_by(*_order(part.model)).iterator(chunk_size=500)


def _order(model) -> tuple[str, ...]:
    if model is SiteReport:
        return ("created_at", "pk")
    if model is DefectItem:
        return ("report__created_at", "number", "pk")
    return ("pk",)


def people_of(site: Site) -> set:
    """Ids of everybody whose name the site's rows or Record need."""
    found = set(RecordEntry.objects.filter(site=site).values_list("actor", flat=True))
    found |= set(site.notify.values_list("user", flat=True)) | {site.created_by_id}
    for model, path in (
        (SiteReport, "site"),
        (RunCheck, "report__site"),
        (DefectItem, "report__site"),
        (Fix, "item__report__site"),
        (ReadinessConfirmation, "report__site"),
        (Booking, "site"),
        (PutOff, "booking__site"),
        (TradeLink, "site"),
        (Referral, "site"),
        (ReferralDecision, "referral__site"),
        (Photo, "site"),
        (Markup, "photo__site"),
        (PhotoMeasurement, "photo__site"),
        (Message, "site"),
    ):
        names = [f.name for f in model._meta.concrete_fields if f.related_model is User]
        for row in model.objects.filter(**{path: site}).values_list(*names):
            found.update(row)
    return found - {None}
