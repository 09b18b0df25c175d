"""Why the business's own settings can't be kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.utils.translation import gettext as _

from readiness.rules.days_off import FURTHEST_YEARS, LONGEST, DayOffProblem
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
        "limit": error.rule.default_words,
        "source": error.rule.source.words,
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
    RuleProblem.TOO_LITTLE: lambda: _(
        "%(label)s: %(found)s is not enough. It has to be at least %(limit)s (%(source)s). You can "
        "ask for more."
    ),
    RuleProblem.TOO_MUCH: lambda: _(
        "%(label)s: %(found)s is too much. It can be at most %(limit)s (%(source)s). You can allow "
        "less."
    ),
}


# Days off


def day_off(problem: DayOffProblem) -> str:
    """Why an entry of the list of days off can't be kept, and what to do."""
    return _DAYS_OFF[problem]() % {"longest": LONGEST, "years": FURTHEST_YEARS}


_DAYS_OFF: Mapping[DayOffProblem, Callable[[], str]] = {
    DayOffProblem.NO_NAME: lambda: _("Enter what it is called. Builders read it."),
    DayOffProblem.NO_FIRST_DAY: lambda: _("Enter the first day off."),
    DayOffProblem.NO_WEEKDAY: lambda: _("Choose which weekday of which month."),
    DayOffProblem.LAST_BEFORE_FIRST: lambda: _(
        "The last day is before the first. Check the month and the year."
    ),
    DayOffProblem.TOO_LONG: lambda: _(
        "That is longer than %(longest)d days. Check the dates, or make two of it."
    ),
    DayOffProblem.PASSED: lambda: _("That is over already. Check the year."),
    DayOffProblem.TOO_FAR_AHEAD: lambda: _(
        "That is more than %(years)d years ahead. Check the year."
    ),
}


def no_postcode(part: str) -> str:
    """What was typed for where a day off holds."""
    return _("“%(part)s” is no postcode. Enter four digits, or a range such as 4000-4179.") % {
        "part": part
    }


def too_many_days_off(year: int) -> str:
    return _(
        "With this, hardly a working day would be left in %(year)d. Remove another entry first."
    ) % {"year": year}
