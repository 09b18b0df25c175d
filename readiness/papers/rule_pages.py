"""The rule values that a report was made with, and where each comes from."""

from dataclasses import dataclass

from readiness.rules.values.rule_table import COSTS
from readiness.rules.values.rule_values import RuleValues

# What a reader of the paper can't check on the wall stays on the rule values page.
_NOT_OF_THE_WALL = ("average_perimeter_m", "invitation_valid_days")


@dataclass(frozen=True)
class RuleRow:
    """One rule value; `changed` says that the business set it."""

    label: str
    value: str
    source: str
    changed: bool


def rule_groups(values: RuleValues) -> list[tuple[str, list[RuleRow]]]:
    """The rule values by group, in the table's order; of an old report, those of then."""
    changed = values.changed()
    groups: dict[str, list[RuleRow]] = {}
    for rule in values.rules():
        if rule.group == COSTS or rule.key in _NOT_OF_THE_WALL:
            continue
        groups.setdefault(rule.group, []).append(
            RuleRow(rule.label, values.words(rule.key), rule.source_words, rule.key in changed)
        )
    return list(groups.items())
