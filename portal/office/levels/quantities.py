"""Quantities of a site, each with the steps of its working."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.shortcuts import render
from django.utils.translation import gettext as _

from portal.office.sites.views import get_site
from portal.requests.access import applicator_required
from readiness.facts import rule_values, run_facts, walls_of
from readiness.insights.liquid import own_rates
from readiness.models import Business, DefectItem
from readiness.rules.band.quantities import (
    CleaningCost,
    JointSealing,
    RunLiquid,
    cleaning_cost,
    rounded,
    site_quantities,
)
from readiness.rules.defects.catalogue import get_kind, place
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.vocabulary import Effect, ItemState
from readiness.wording.own_rates import beside_quantities
from readiness.wording.quantities import fills, sealing_note, span, wall_in_words, working


@applicator_required
def quantities(request, pk):
    """Liquid, sealant, rod and solvent for a site, each with the steps of its working."""
    site, values = get_site(request, pk), rule_values()
    runs = walls_of(site, run_facts)
    found = site_quantities(runs, values)
    labels = {run.id: run.label for run in runs}
    context = {
        "site": site,
        "found": vars(found) | vars(working(found, values)),
        "span": span(found),
        "fills": fills(found),
        "own_rates": beside_quantities(found, own_rates(), values),
        "barred": [
            place(run.label, *stretch)
            if run.reachable_mm
            else _("%(wall)s, the whole of it") % {"wall": run.label}
            for run in runs
            for stretch in run.out_of_reach
        ],
        "walls": [_wall(part) for part in found.runs],
        "joints": [_joint(part, labels[part.run_id], values) for part in found.sealing],
        "costs": [
            (_("What we will do on the day"), _cost(site, Effect.ON_THE_DAY, values)),
            (_("If we had to fix the builder's items"), _cost(site, Effect.HOLDS, values)),
        ],
        "currency": Business.current().currency,
    }
    return render(request, "portal/office/levels/quantities.html", context)


def _wall(part: RunLiquid) -> dict:
    return {
        "label": part.label,
        "what": wall_in_words(part),
        "litres": rounded(part.litres, "0.01"),
    }


def _joint(part: JointSealing, label: str, values: RuleValues) -> dict:
    return {
        "part": vars(part) | {"note": sealing_note(part, values)},
        "place": place(label, part.distance_mm, None),
        "sealant_ml": rounded(part.sealant_mm3 / 1000, "1"),
    }


@dataclass(frozen=True)
class CostRows:
    """What items cost in time: a row for each kind, and the total."""

    rows: list[tuple[str, int]]
    total: CleaningCost
    money: Decimal


def _cost(site, effect: str, values: RuleValues) -> CostRows | None:
    """The time of a site's open items of one effect; None if there are none."""
    draft = site.reports.drafts().first() or site.reports.current().first()
    if draft is None:
        return None
    items = DefectItem.objects.filter(report=draft, effect=effect).exclude(state=ItemState.ACCEPTED)
    total = cleaning_cost([item.kind for item in items], values)
    if not total.minutes_by_kind:
        return None
    rows = [(get_kind(slug).name, minutes) for slug, minutes in total.minutes_by_kind.items()]
    return CostRows(rows, total, Decimal(total.cents) / 100)
