"""Rows that tests make by hand, put into the Record; and whether a site's Record holds then."""

from django.db import transaction

from readiness.evidence.checking import Checked, site_break
from readiness.evidence.forms import forms_of
from readiness.evidence.kept import KEPT, key_of
from readiness.evidence.record import append
from readiness.evidence.verification import verify_all
from readiness.models import Commitment, Site
from readiness.models.verbs import Verb


def record_rows_by_hand(*, changed: bool = False) -> None:
    """One entry for each Record about rows that no entry tells of yet: those of factories.

    With `changed` also about those that a test has changed past the actions.
    """
    told = dict(Commitment.objects.values_list("row", "leaves"))
    by_site: dict = {}
    for kept in KEPT:
        for row in kept.model._base_manager.filter(kept.when):
            now = forms_of([row])[0].leaves if changed else told.get(key_of(row))
            if key_of(row) not in told or now != told[key_of(row)]:
                way = kept.of_site.replace("pk", "").split("__") if kept.of_site else []
                site = row if kept.of_site else None
                for name in filter(None, way):
                    site = getattr(site, name)
                by_site.setdefault(site, []).append(row)
    with transaction.atomic():
        for site, rows in by_site.items():
            append(site, None, Verb.IMPORTED, {"by_hand": True}, rows=rows)


def broken(site: Site) -> str:
    """What does not hold of a site, once the rows of factories are in its Record."""
    record_rows_by_hand()
    return site_break(site)


def verified() -> Checked:
    """What checking all finds, once the rows of factories are in the Record."""
    record_rows_by_hand()
    return verify_all()
