"""The rule values that a business works with, and how they are kept with a report.

A business may change some of them within their range, and what a code asks for only to something
stricter. Every issued report keeps the values it was made with (`RuleValues.as_dict`) and the
sources that they had then (`rules_as_list`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from readiness.rules.values.rule_table import COSTS, RULE_VALUES
from readiness.rules.values.rule_value import (
    RuleProblem,
    RuleValue,
    RuleValueError,
    Value,
    minutes_key,
    value_words,
)
from readiness.rules.values.sources import Source, SourceKind

__all__ = [
    "RULE_VALUES",
    "RuleProblem",
    "RuleValue",
    "RuleValueError",
    "RuleValues",
    "Unusable",
    "Value",
    "minutes_key",
    "value_words",
]


class RuleValues(Mapping[str, Any]):
    """A frozen set of all rule values: defaults, plus what a business changed.

    Those of an issued report may carry the rules' own entries as they were then.
    """

    __slots__ = ("_hash", "_rules", "_values")

    def __init__(self, values: Mapping[str, Value], rules: Mapping[str, RuleValue] | None = None):
        self._values = dict(values)
        self._rules = dict(rules or {})
        self._hash = hash(tuple(sorted(self._values.items())))

    @classmethod
    def defaults(cls) -> RuleValues:
        return _DEFAULTS

    def __getitem__(self, key: str) -> Any:
        return self._values[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __eq__(self, other: object) -> bool:
        """As mappings compare; two of this kind need no copy for it (caches compare often)."""
        if isinstance(other, RuleValues):
            return self._values == other._values and self._rules == other._rules
        return super().__eq__(other)

    def __hash__(self) -> int:
        return self._hash

    def __repr__(self) -> str:
        return f"RuleValues({self.changed()!r})"

    def rule(self, key: str) -> RuleValue:
        """The rule's entry: label, unit, source."""
        return self._rules.get(key) or RULE_VALUES[key]

    def rules(self) -> Iterator[RuleValue]:
        """The entries in the table's order: those of then where they are carried."""
        return iter((self._rules or RULE_VALUES).values())

    def words(self, key: str) -> str:
        """The value with its unit."""
        return value_words(self[key], self.rule(key).unit)

    def source_words(self, key: str) -> str:
        """Where the value comes from, as it is printed beside it."""
        return self.rule(key).source_of(self[key]).words

    def published_words(self, key: str) -> str:
        """The same where somebody published it; "" for what is the business's own setting."""
        source = self.rule(key).source_of(self[key])
        return "" if source.is_own else source.words

    def changed(self) -> dict[str, Value]:
        """Only the values that differ from their default."""
        known = RULE_VALUES.keys() | self._rules.keys()
        return {
            key: value
            for key, value in self.items()
            if key in known and value != self.rule(key).default
        }

    def with_overrides(self, overrides: Mapping[str, object]) -> RuleValues:
        """These values with some changed; RuleValueError names the first that can't be used."""
        changed = dict(self._values)
        for key, raw in overrides.items():
            rule = RULE_VALUES.get(key)
            if rule is None:
                raise RuleValueError(RuleProblem.UNKNOWN, None, key)
            changed[key] = rule.parse(raw)
        return RuleValues(changed)

    @classmethod
    def from_stored(
        cls, overrides: Mapping[str, object]
    ) -> tuple[RuleValues, tuple[Unusable, ...]]:
        """The values in force with a business's stored changes, and those that can't be used.

        A rule that was taken out or given a narrower range since then keeps its default: what was
        typed for it years ago must never break a page of today.
        """
        try:
            return cls.defaults().with_overrides(overrides), ()
        except RuleValueError:
            pass  # then one by one
        values, unusable = cls.defaults(), []
        for key, raw in overrides.items():
            try:
                values = values.with_overrides({key: raw})
            except RuleValueError as error:
                unusable.append(Unusable(key, raw, error))
        return values, tuple(unusable)

    def as_dict(self) -> dict[str, object]:
        """Values that JSON can hold: decimals as strings, lists of diameters as lists."""
        return {key: _plain(value) for key, value in sorted(self._values.items())}

    @classmethod
    def from_json(
        cls, stored: Mapping[str, object], rules: Iterable[Mapping[str, Any]] = ()
    ) -> RuleValues:
        """Read what `as_dict` made, with the entries of `rules_as_list` where kept.

        Values are taken as they were kept, even where today's range is narrower, or where the rule
        was taken out since (it then has a value and no words); new ones get their default.
        """
        kept = {entry["key"]: _rule_from_plain(entry) for entry in rules}
        values = {key: rule.default for key, rule in (RULE_VALUES | kept).items()}
        for key, value in stored.items():
            values[key] = _from_plain(value, values.get(key))
        return cls(values, kept)

    def rules_as_list(self) -> list[dict[str, object]]:
        """The entries that papers print, for JSON: words, source and default, in table order."""
        return [
            {
                **{name: _plain(getattr(rule, name)) for name in KEPT_OF_A_RULE},
                "source": {**asdict(rule.source), "kind": str(rule.source.kind)},
            }
            for rule in self.rules()
            if rule.group != COSTS
        ]


KEPT_OF_A_RULE = ("key", "label", "unit", "default", "bound", "group")
"""What a paper may say of a rule value, beside its source. Its range and explanation are for those
who set it.
"""


@dataclass(frozen=True)
class Unusable:
    """A stored change that is not in force: its key, what was stored, and why not."""

    key: str
    stored: object
    error: RuleValueError


def _rule_from_plain(entry: Mapping[str, Any]) -> RuleValue:
    source = Source(**{**entry["source"], "kind": SourceKind(entry["source"]["kind"])})
    return RuleValue(
        **{**entry, "default": _value_from_plain(entry["default"]), "source": source},
        minimum=0,
        maximum=0,
        explanation="",
    )


def _value_from_plain(stored: Any) -> Value:
    if isinstance(stored, list):
        return tuple(int(part) for part in stored)
    return Decimal(stored) if isinstance(stored, str) else int(stored)


def _plain(value: Value) -> object:
    if isinstance(value, tuple):
        return list(value)
    return str(value) if isinstance(value, Decimal) else value


def _from_plain(stored: Any, default: Value | None) -> Value:
    """A kept value; where a rule became a list or stopped being one, its default."""
    try:
        value = _value_from_plain(stored)
    except (TypeError, ValueError, ArithmeticError):
        value = default if default is not None else 0
    if default is not None and isinstance(value, tuple) != isinstance(default, tuple):
        return default
    return Decimal(str(value)) if isinstance(default, Decimal) else value


_DEFAULTS = RuleValues({key: rule.default for key, rule in RULE_VALUES.items()})
