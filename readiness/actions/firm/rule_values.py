"""The business's own rule values."""

from collections.abc import Mapping

from django.db import transaction

from readiness.actions.errors import About, Problem, Refused
from readiness.actions.firm.business import note_change
from readiness.actions.permission import require_owner
from readiness.actions.ranking import policy_changed
from readiness.facts import unusable_overrides
from readiness.models import Business, User
from readiness.models.verbs import Verb
from readiness.rules.values.rule_values import RuleValueError, RuleValues, Value
from readiness.wording.refusals import firm as refusals


@transaction.atomic
def change_rule_values(actor: User, typed: Mapping[str, str]) -> Business:
    """Set the business's rule values as typed; a blank one goes back to its default. Owners only.

    Only values that differ from their default are kept; what was stored and is not possible any
    more goes. Refused names every value that can't be used, with its key as what the problem is
    about. Issued reports keep the values they have.
    """
    require_owner(actor)
    problems: list[Problem] = []
    overrides: dict[str, Value] = {}
    for key, raw in typed.items():
        if not raw.strip():
            continue
        try:
            changed = RuleValues.defaults().with_overrides({key: raw}).changed()
        except RuleValueError as error:
            problems.append(Problem(refusals.rule_value(error), About.RULE, key))
        else:
            overrides |= changed
    if problems:
        raise Refused(problems)
    Business.current()
    business = Business.objects.select_for_update().get(pk=1)
    gone = {one.key for one in unusable_overrides(business)}
    kept = {
        key: raw
        for key, raw in business.rule_overrides.items()
        if key not in gone and key not in typed
    }
    values = RuleValues.defaults().with_overrides({**kept, **overrides})
    stored = values.as_dict()
    before = business.rule_overrides
    business.rule_overrides = {**kept, **{key: stored[key] for key in overrides}}
    business.save(update_fields=["rule_overrides"])
    if business.rule_overrides != before:
        now, told = business.rule_overrides, {"rule_overrides": before}
        fields = [key for key in {*before, *now} if before.get(key) != now.get(key)]
        note_change(business, actor, Verb.RULE_VALUES_CHANGED, told, fields=fields)
    policy_changed()
    return business
