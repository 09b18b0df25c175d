"""The rule values that a business works with, and how they are kept with a report.

A business may change some of them within their range; every issued report keeps the values it was
made with (`RuleValues.as_json`). "From memory" means that the published text was not read: it is a
default to be checked, never a claim about the standard.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from readiness.rules.rule_table import RULE_VALUES
from readiness.rules.rule_value import (
    COMMON_PRACTICE,
    FROM_MEMORY,
    PUBLISHED,
    RuleValue,
    RuleValueError,
    Value,
    minutes_key,
    value_words,
)

__all__ = [
    "COMMON_PRACTICE",
    "FROM_MEMORY",
    "PUBLISHED",
    "RULE_VALUES",
    "RuleValue",
    "RuleValueError",
    "RuleValues",
    "Value",
    "minutes_key",
    "value_words",
]


class RuleValues(Mapping[str, Any]):
    """A frozen set of all rule values: defaults, plus what a business changed."""

    __slots__ = ("_hash", "_values")

    def __init__(self, values: Mapping[str, Value]):
        self._values = dict(values)
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
            return self._values == other._values
        return super().__eq__(other)

    def __hash__(self) -> int:
        return self._hash

    def __repr__(self) -> str:
        return f"RuleValues({self.changed()!r})"

    def rule(self, key: str) -> RuleValue:
        """The rule's entry: label, unit, source."""
        return RULE_VALUES[key]

    def words(self, key: str) -> str:
        """The value with its unit."""
        return value_words(self[key], RULE_VALUES[key].unit)

    def changed(self) -> dict[str, Value]:
        """Only the values that differ from their default."""
        return {key: value for key, value in self.items() if value != RULE_VALUES[key].default}

    def with_overrides(self, overrides: Mapping[str, object]) -> RuleValues:
        """These values with some changed; RuleValueError names the first that can't be used."""
        changed = dict(self._values)
        for key, raw in overrides.items():
            rule = RULE_VALUES.get(key)
            if rule is None:
                raise RuleValueError(f"There is no rule value called “{key}”.")
            parsed = rule.parse(raw)
            if not rule.business_may_change and parsed != rule.default:
                raise RuleValueError(f"{rule.label} is fixed and can't be changed.")
            changed[key] = parsed
        return RuleValues(changed)

    def as_json(self) -> str:
        """All values as JSON text, keys in order, decimals as strings: the same every time."""
        return json.dumps(self.as_dict(), sort_keys=True)

    def as_dict(self) -> dict[str, object]:
        """Values that JSON can hold: decimals as strings, lists of diameters as lists."""
        return {key: _plain(value) for key, value in sorted(self._values.items())}

    @classmethod
    def from_json(cls, text: str | Mapping[str, object]) -> RuleValues:
        """Read what `as_json` or `as_dict` made.

        Values are taken as they were kept, even where today's range is narrower; keys that are no
        longer known are dropped, and new ones get their default.
        """
        stored = json.loads(text) if isinstance(text, str) else dict(text)
        values = {key: rule.default for key, rule in RULE_VALUES.items()}
        for key in stored.keys() & values.keys():
            values[key] = _from_plain(stored[key], values[key])
        return cls(values)


def _plain(value: Value) -> object:
    if isinstance(value, tuple):
        return list(value)
    return str(value) if isinstance(value, Decimal) else value


def _from_plain(stored: Any, default: Value) -> Value:
    if isinstance(default, tuple):
        return tuple(int(part) for part in stored)
    return Decimal(str(stored)) if isinstance(default, Decimal) else int(stored)


_DEFAULTS = RuleValues({key: rule.default for key, rule in RULE_VALUES.items()})
