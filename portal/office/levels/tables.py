"""The tables behind the answers: quantities of a site with their working, and the rule values."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from django.contrib import messages
from django.shortcuts import redirect, render

from portal.office.sites.views import get_site
from portal.requests.access import applicator_required
from readiness.actions.errors import Refused
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.permission import require_owner
from readiness.facts import rule_values, run_facts, unusable_overrides
from readiness.models import Business, DefectItem
from readiness.rules.band.quantities import (
    CleaningCost,
    JointSealing,
    RunLiquid,
    cleaning_cost,
    site_quantities,
)
from readiness.rules.defects.catalogue import APPLICATOR, HOLDS, get_kind, place
from readiness.rules.values.rule_value import SWITCH
from readiness.rules.values.rule_values import (
    RULE_VALUES,
    RuleValue,
    RuleValues,
    Unusable,
    value_words,
)
from readiness.rules.words import metres, number


@applicator_required
def quantities(request, pk):
    """Liquid, sealant, rod and solvent for a site, each with the steps of its working."""
    site, values = get_site(request, pk), rule_values()
    runs = [run_facts(run) for run in site.wall_runs.filter(removed_at=None)]
    found = site_quantities(runs, values)
    labels = {run.id: run.label for run in runs}
    context = {
        "site": site,
        "found": found,
        "walls": [_wall(part) for part in found.runs],
        "joints": [_joint(part, labels[part.run_id]) for part in found.sealing],
        "costs": [
            ("What we will do on the day", _cost(site, APPLICATOR, values)),
            ("If we had to put right what is the builder's", _cost(site, HOLDS, values)),
        ],
        "currency": Business.current().currency,
    }
    return render(request, "portal/office/levels/quantities.html", context)


def _wall(part: RunLiquid) -> dict:
    return {
        "label": part.label,
        "length": metres(part.length_mm),
        "courses": part.courses,
        "litres": round(float(part.litres), 2),
    }


def _joint(part: JointSealing, label: str) -> dict:
    return {
        "part": part,
        "place": place(label, part.distance_mm, None),
        "sealant_ml": round(float(part.sealant_mm3) / 1000),
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
    items = DefectItem.objects.filter(report=draft, effect=effect).exclude(state="accepted")
    total = cleaning_cost([item.kind for item in items], values)
    if not total.minutes_by_kind:
        return None
    rows = [(get_kind(slug).name, minutes) for slug, minutes in total.minutes_by_kind.items()]
    return CostRows(rows, total, Decimal(total.cents) / 100)


@dataclass(frozen=True)
class RuleRow:
    """One rule value as the page shows it; `typed` is what its field holds."""

    rule: RuleValue
    value_words: str
    range_words: str
    typed: str
    is_changed: bool
    error: str = ""


@applicator_required
def rule_values_page(request):
    """The table of rule values with sources; owners set the business's own, within the range."""
    may_change = request.user.is_owner
    errors: dict[str, str] = {}
    if request.method == "POST":
        require_owner(request.user)
        typed = {key: request.POST[key] for key in RULE_VALUES if key in request.POST}
        try:
            change_rule_values(request.user, typed)
        except Refused as refused:
            errors = {problem.about_id: problem.sentence for problem in refused.problems}
        else:
            messages.success(request, "Saved. Reports issued from now on use these values.")
            return redirect("office:rules")
    values = rule_values()
    groups: dict[str, list[RuleRow]] = {}
    for rule in RULE_VALUES.values():
        row = _rule_row(rule, values, request.POST if errors else None, errors.get(rule.key, ""))
        groups.setdefault(rule.group, []).append(row)
    context = {
        "groups": groups,
        "may_change": may_change,
        "errors": errors,
        "unusable": [_unusable_words(one) for one in unusable_overrides()] if may_change else [],
    }
    return render(request, "portal/office/business/rule_values.html", context)


def _unusable_words(one: Unusable) -> str:
    """What was set before an upgrade and is not in force, and what is used instead."""
    rule = RULE_VALUES.get(one.key)
    stored = ", ".join(map(str, one.stored)) if isinstance(one.stored, list) else str(one.stored)
    if rule is None:
        return f"{one.key.replace('_', ' ').capitalize()}: there is no such value any more."
    said = one.sentence if stored in one.sentence else f"{one.sentence} You had set {stored}."
    return f"{said} We use the default, {rule.default_words}."


def _rule_row(rule: RuleValue, values: RuleValues, posted, error: str) -> RuleRow:
    value = values[rule.key]
    typed = ", ".join(map(str, value)) if isinstance(value, tuple) else number(value)
    if posted is not None and rule.key in posted:
        typed = posted[rule.key]
    low = value_words(rule.minimum, "")
    high = value_words(rule.maximum, rule.unit)
    return RuleRow(
        rule=rule,
        value_words=value_words(value, rule.unit),
        range_words="1 or 0" if rule.unit == SWITCH else f"{low} to {high}",
        typed=typed,
        is_changed=value != rule.default,
        error=error,
    )
