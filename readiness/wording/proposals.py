"""What is said of an item that the levels suggest: why, and what has to be done."""

from __future__ import annotations

from readiness.rules.defects.catalogue import get_kind
from readiness.rules.defects.proposals import ProposedItem
from readiness.rules.values.rule_values import RuleValues
from readiness.wording.checks import finding_sentence
from readiness.wording.levels import no_struck_joint, shortfall


def why(item: ProposedItem) -> str:
    """What was found."""
    if item.short is not None:
        return shortfall(item.short)
    if item.finding is not None:
        return finding_sentence(item.finding)
    return no_struck_joint(item.needed_level_mm)


def required_fix(item: ProposedItem, values: RuleValues) -> str:
    """What has to be done, in the catalogue's words.

    Where finished ground is over the line, or weep holes stop it from going up, those of the
    shortfall say more.
    """
    kind, short = get_kind(item.kind), item.short
    if short is not None and (short.found_mm < 0 or short.raise_stopped):
        return kind.with_care(shortfall(short))
    return kind.required_fix(
        values, measured=item.measured_mm, from_mm=item.from_mm, to_mm=item.to_mm
    )
