"""One rule value: its unit, allowed range and source, and how a typed value is read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any, Protocol

from readiness.rules.values.sources import OWN, Source
from readiness.rules.words import amount, listed, number

AT_LEAST, AT_MOST = "at_least", "at_most"
"""What a value of a source is: a business may go over the least, or stay under the most."""
SWITCH = "1 for yes, 0 for no"
"""The unit of a rule value that is a yes or a no."""

Value = int | Decimal | tuple[int, ...]


class Values(Protocol):
    """Rule values in force, as far as a kind of defect asks for them."""

    def __getitem__(self, key: str) -> Any: ...

    def __contains__(self, key: object) -> bool: ...

    def rule(self, key: str) -> RuleValue: ...

    def words(self, key: str) -> str: ...

    def source_words(self, key: str) -> str: ...


class RuleProblem(StrEnum):
    """Why a rule value can't be used. What it says is `readiness.wording.refusals.firm`'s."""

    UNKNOWN = "unknown"
    NONE_GIVEN = "none_given"
    NOT_A_NUMBER = "not_a_number"
    NOT_WHOLE = "not_whole"
    NOT_YES_OR_NO = "not_yes_or_no"
    OUT_OF_RANGE = "out_of_range"
    TOO_LITTLE = "too_little"
    TOO_MUCH = "too_much"


class RuleValueError(ValueError):
    """A rule value that can't be used: `raw` as typed, `parsed` where it is a number.

    `rule` is None where there is none of that key, which `raw` is then.
    """

    def __init__(
        self,
        problem: RuleProblem,
        rule: RuleValue | None,
        raw: object,
        parsed: Decimal | None = None,
    ):
        super().__init__(f"{rule.key if rule else ''} {problem}: {raw!r}".strip())
        self.problem, self.rule, self.raw, self.parsed = problem, rule, raw, parsed


@dataclass(frozen=True)
class RuleValue:
    """One rule value: what it is, its bounds (inclusive) and where it comes from.

    With `bound` the default is what its source asks for (`AT_LEAST`) or allows (`AT_MOST`), and a
    business may only be stricter.
    """

    key: str
    label: str
    unit: str
    default: Value
    minimum: int | Decimal
    maximum: int | Decimal
    source: Source
    explanation: str
    group: str
    bound: str = ""

    def source_of(self, value: Value) -> Source:
        """Where a value comes from: what the business changed is its own setting.

        It is called stricter only where it is.
        """
        if value == self.default:
            return self.source
        if self.bound and not self.is_looser(value):
            return replace(OWN, stricter_than=self.source.words)
        return OWN

    def is_looser(self, value: Value | Decimal) -> bool:
        """Whether a value asks for less than the source does."""
        if not self.bound or isinstance(value, tuple) or isinstance(self.default, tuple):
            return False
        return value < self.default if self.bound == AT_LEAST else value > self.default

    @property
    def default_words(self) -> str:
        return value_words(self.default, self.unit)

    def parse(self, raw: object) -> Value:
        """Read a typed value; RuleValueError if it is no number, or outside the range."""
        if isinstance(self.default, tuple):
            return self._parse_list(raw)
        parsed = self._parse_one(raw)
        return int(parsed) if isinstance(self.default, int) else parsed

    def _parse_list(self, raw: Any) -> tuple[int, ...]:
        if isinstance(raw, str):
            parts = raw.replace(";", ",").split(",")
        else:
            parts = list(raw) if isinstance(raw, list | tuple) else [raw]
        found = {int(self._parse_one(part)) for part in parts if str(part).strip()}
        if not found:
            raise RuleValueError(RuleProblem.NONE_GIVEN, self, raw)
        return tuple(sorted(found))

    def _parse_one(self, raw: object) -> Decimal:
        typed = str(raw).strip().removesuffix(self.unit).strip().replace(",", ".")
        try:
            parsed = Decimal(typed)
        except InvalidOperation:
            raise RuleValueError(RuleProblem.NOT_A_NUMBER, self, raw) from None
        whole = not isinstance(self.default, Decimal)
        if not parsed.is_finite() or (whole and parsed != parsed.to_integral_value()):
            raise RuleValueError(RuleProblem.NOT_WHOLE, self, raw)
        if self.unit == SWITCH and parsed not in (0, 1):
            raise RuleValueError(RuleProblem.NOT_YES_OR_NO, self, raw)
        if self.is_looser(parsed):
            problem = RuleProblem.TOO_LITTLE if self.bound == AT_LEAST else RuleProblem.TOO_MUCH
            raise RuleValueError(problem, self, raw, parsed)
        if not self.minimum <= parsed <= self.maximum:
            raise RuleValueError(RuleProblem.OUT_OF_RANGE, self, raw, parsed)
        return parsed


def value_words(value: Value, unit: str) -> str:
    """A rule value with its unit, lists included: "6, 8 and 10 mm"."""
    if isinstance(value, tuple):
        return f"{listed(number(part) for part in value)} {unit}".strip()
    if unit == SWITCH:
        return "yes" if value else "no"
    return amount(value, unit)


def minutes_key(slug: str) -> str:
    """The rule value that holds the minutes one item of a kind costs."""
    return f"minutes_{slug}"
