"""What is said of an item that the levels suggest: why, and what has to be done."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.rules.defects.catalogue import get_kind
from readiness.rules.defects.proposals import ProposedItem
from readiness.rules.values.rule_values import RuleValues
from readiness.wording import band
from readiness.wording.checks import finding_sentence
from readiness.wording.levels import no_struck_joint, shortfall


def why(item: ProposedItem) -> str:
    """What was found."""
    if item.short is not None:
        return shortfall(item.short)
    if item.clear is not None:
        return band.soil(item.clear)
    if item.finding is not None:
        return finding_sentence(item.finding)
    return no_struck_joint(item.needed_level_mm)


def required_fix(item: ProposedItem, values: RuleValues) -> str:
    """What has to be done, in the catalogue's words.

    Soil over the band is told by its own numbers. Where finished ground is over the line, weep
    holes stop it from going up or a finish is to be laid lower, those of the shortfall say more.
    """
    kind, short = get_kind(item.kind), item.short
    if item.clear is not None:
        return f"{band.soil(item.clear)} {_brush()}"
    if short is not None and (short.found_mm < 0 or short.raise_stopped or short.trade):
        return shortfall(short)
    return kind.required_fix(
        values, measured=item.measured_mm, from_mm=item.from_mm, to_mm=item.to_mm
    )


def _brush() -> str:
    return _("Then brush the brick clean and leave it dry.")
