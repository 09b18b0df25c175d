"""The rule values that a report was made with, and where each comes from."""

from dataclasses import dataclass

from readiness.rules.values import RULE_VALUES, RuleValues

# What a reader of the paper can't check on the wall stays on the rule values page.
_LEFT_OUT = ("Time cost of defects",)
_NOT_OF_THE_WALL = ("average_perimeter_m", "invitation_valid_days")


@dataclass(frozen=True)
class RuleRow:
    """One rule value; `changed` says that the business set it."""

    label: str
    value: str
    source: str
    changed: bool


def rule_groups(values: RuleValues) -> list[tuple[str, list[RuleRow]]]:
    """The rule values by group, in the table's order."""
    changed = values.changed()
    groups: dict[str, list[RuleRow]] = {}
    for key, rule in RULE_VALUES.items():
        if rule.group in _LEFT_OUT or key in _NOT_OF_THE_WALL:
            continue
        groups.setdefault(rule.group, []).append(
            RuleRow(rule.label, values.words(key), rule.source_words, key in changed)
        )
    return list(groups.items())
