"""Why the business's own settings can't be kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.utils.translation import gettext as _

from readiness.rules.values.rule_value import RuleProblem, RuleValueError
from readiness.rules.words import amount


def no_name() -> str:
    return _("Enter the name of the business. It is on every paper.")


def no_statement() -> str:
    return _("Enter the statement that builders sign.")


# Rule values


def rule_value(error: RuleValueError) -> str:
    """Why what was typed (or stored) for a rule value can't be used, and what can."""
    if error.rule is None:
        return _("There is no rule value called “%(key)s”.") % {"key": error.raw}
    words = _RULE_VALUES[error.problem]()
    low, high = (amount(end, error.rule.unit) for end in (error.rule.minimum, error.rule.maximum))
    usual = error.rule.default
    return words % {
        "label": error.rule.label,
        "typed": str(error.raw).strip(),
        "found": "" if error.parsed is None else amount(error.parsed, error.rule.unit),
        "low": low,
        "high": high,
        "example": usual[0] if isinstance(usual, tuple) else "",
    }


_RULE_VALUES: Mapping[RuleProblem, Callable[[], str]] = {
    RuleProblem.NONE_GIVEN: lambda: _("%(label)s: enter at least one, e.g. %(example)s."),
    RuleProblem.NOT_A_NUMBER: lambda: _("%(label)s: “%(typed)s” is not a number."),
    RuleProblem.NOT_WHOLE: lambda: _("%(label)s: “%(typed)s” is not a whole number."),
    RuleProblem.NOT_YES_OR_NO: lambda: _("%(label)s: enter 1 for yes or 0 for no."),
    RuleProblem.OUT_OF_RANGE: lambda: _(
        "%(label)s: %(found)s is out of range. It can be from %(low)s to %(high)s."
    ),
    RuleProblem.FIXED: lambda: _("%(label)s is fixed and can't be changed."),
}
