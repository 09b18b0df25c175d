"""The rule values with their sources; owners set the business's own."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from portal.requests.access import applicator_required, asks_again
from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.permission import require_owner
from readiness.facts import rule_values, unusable_overrides
from readiness.insights.liquid import own_rates
from readiness.rules.values.rule_value import SWITCH
from readiness.rules.values.rule_values import (
    RULE_VALUES,
    RuleValue,
    RuleValues,
    Unusable,
    value_words,
)
from readiness.rules.words import number
from readiness.wording import sources
from readiness.wording.own_rates import beside_rules
from readiness.wording.refusals import firm as refusals


@dataclass(frozen=True)
class RuleRow:
    """One rule value as the page shows it; `typed` is what its field holds."""

    rule: RuleValue
    value_words: str
    source: str
    may_be_set: str
    typed: str
    is_changed: bool
    error: str = ""
    own_rate: str = ""


@applicator_required
@asks_again
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
            messages.success(request, _("Saved. Reports issued from now on use these values."))
            return redirect("office:rules")
    values = rule_values()
    groups: dict[str, list[RuleRow]] = {}
    beside = beside_rules(own_rates())
    for rule in RULE_VALUES.values():
        row = _rule_row(rule, values, request.POST if errors else None, errors.get(rule.key, ""))
        row = replace(row, own_rate=beside.get(rule.key, ""))
        groups.setdefault(rule.group, []).append(row)
    context = {
        "groups": groups,
        "may_change": may_change,
        "errors": errors,
        "about_sources": f"{sources.meaning()} {sources.editions(clock.now().date())}",
        "unusable": [_unusable_words(one) for one in unusable_overrides()] if may_change else [],
    }
    return render(request, "portal/office/business/rule_values.html", context)


def _unusable_words(one: Unusable) -> str:
    """What was set before an upgrade and is not in force, and what is used instead."""
    rule = RULE_VALUES.get(one.key)
    stored = ", ".join(map(str, one.stored)) if isinstance(one.stored, list) else str(one.stored)
    if rule is None:
        name = one.key.replace("_", " ").capitalize()
        return _("%(name)s: this value no longer exists.") % {"name": name}
    said = [refusals.rule_value(one.error)]
    if stored not in said[0]:
        said.append(_("You had set %(value)s.") % {"value": stored})
    said.append(_("%(value)s is used instead.") % {"value": rule.default_words})
    return " ".join(said)


def _may_be_set(rule: RuleValue) -> str:
    if rule.unit == SWITCH:
        return _("Can be 1 or 0.")
    low, high = value_words(rule.minimum, ""), value_words(rule.maximum, rule.unit)
    return sources.may_be_set(low, high, rule.bound)


def _rule_row(rule: RuleValue, values: RuleValues, posted, error: str) -> RuleRow:
    value = values[rule.key]
    typed = ", ".join(map(str, value)) if isinstance(value, tuple) else number(value)
    if posted is not None and rule.key in posted:
        typed = posted[rule.key]
    return RuleRow(
        rule=rule,
        value_words=value_words(value, rule.unit),
        source=sources.with_kind(rule.source),
        may_be_set=_may_be_set(rule),
        typed=typed,
        is_changed=value != rule.default,
        error=error,
    )
