"""The business's own rule values."""

from collections.abc import Mapping

from django.db import transaction

from readiness.actions.errors import Problem, Refused
from readiness.actions.permission import require_owner
from readiness.models import Business, User
from readiness.rules.values import RULE_VALUES, RuleValueError, RuleValues


@transaction.atomic
def change_rule_values(actor: User, typed: Mapping[str, str]) -> Business:
    """Set the business's rule values as typed; a blank one goes back to its default. Owners only.

    Only values that differ from their default are kept. Refused names every value that can't be
    used, with its key as what the problem is about. Issued reports keep the values they have.
    """
    require_owner(actor)
    problems, overrides = [], {}
    for key, raw in typed.items():
        if not raw.strip():
            continue
        try:
            changed = RuleValues.defaults().with_overrides({key: raw}).changed()
        except RuleValueError as error:
            problems.append(Problem(str(error), "rule", key))
        else:
            overrides |= changed
    if problems:
        raise Refused(problems)
    Business.current()
    business = Business.objects.select_for_update().get(pk=1)
    kept = {key: raw for key, raw in business.rule_overrides.items() if key not in typed}
    stored = RuleValues.defaults().with_overrides(overrides).as_dict()
    business.rule_overrides = {
        key: value
        for key, value in {**kept, **{key: stored[key] for key in overrides}}.items()
        if key in RULE_VALUES
    }
    business.save(update_fields=["rule_overrides"])
    return business
