"""The catalogue of what can be found on a wall.

Adding a kind of defect is adding one entry to its group in `kinds/` (and its drawing, under the
same slug, in `readiness/papers/drawings/symbols/`). Everything else follows from the entry:
buttons, forms, checks of the measurement, required fix, cautions, usual trade, due date and time
cost.
"""

from readiness.rules.defects.defect_kind import (
    INFORMATION,
    DefectKind,
    Measurement,
    MeasurementCheck,
    check_measurement,
)
from readiness.rules.defects.kinds import (
    beside,
    ground,
    joints,
    other,
    render,
    slab,
    surface,
    weeps,
)
from readiness.rules.values.rule_value import AT_LEAST, AT_MOST
from readiness.rules.vocabulary import (
    EFFECTS,
    FINISHES,
    ITEM_STATES,
    STATES,
    SURFACES,
    TRADES,
    KindGroup,
    State,
    Trade,
)
from readiness.rules.words import metres, where

__all__ = [
    "AT_LEAST",
    "AT_MOST",
    "EFFECTS",
    "FINISHES",
    "GROUPS",
    "INFORMATION",
    "ITEM_STATES",
    "KINDS",
    "OFTEN",
    "STATES",
    "SURFACES",
    "TRADES",
    "DefectKind",
    "Measurement",
    "MeasurementCheck",
    "State",
    "check_measurement",
    "choices",
    "get_kind",
    "kind_choices",
    "place",
]

GROUPS: dict[KindGroup, tuple[DefectKind, ...]] = {
    KindGroup.JOINTS: joints.KINDS,
    KindGroup.GROUND: ground.KINDS,
    KindGroup.WEEPS: weeps.KINDS,
    KindGroup.RENDER: render.KINDS,
    KindGroup.SURFACE: surface.KINDS,
    KindGroup.BESIDE: beside.KINDS,
    KindGroup.SLAB: slab.KINDS,
    KindGroup.OTHER: other.KINDS,
}
"""Every kind, group by group."""

KINDS: dict[str, DefectKind] = {kind.slug: kind for kinds in GROUPS.values() for kind in kinds}

OFTEN = (
    "unfilled_joint",
    "soil_against_brick",
    "articulation_unsealed",
    "tight_crack",
    "mortar_drop",
    "dirty_brick",
    "weep_hole_blocked",
    "ground_too_high",
    "slab_against_wall",
    "pipe_not_sealed",
)
"""What is found most often, that first: these buttons come before the groups."""

RETIRED: dict[str, str] = {}
"""Names of kinds that were taken out, by slug: items of them are kept, none is added."""


def get_kind(slug: str) -> DefectKind:
    """The catalogue's entry; for a kind that was taken out, a plain one with its name."""
    return KINDS.get(slug) or _taken_out(slug)


def _taken_out(slug: str) -> DefectKind:
    name = RETIRED.get(slug) or slug.replace("_", " ").strip().capitalize()
    return DefectKind(
        slug=slug,
        name=name,
        look_for="",
        fix="",
        trade=Trade.BUILDER,
        minutes=0,
        drawing="other",
    )


def choices(words: dict[str, str]) -> list[tuple[str, str]]:
    """A dictionary of slug to words, as the pairs that a form wants."""
    return list(words.items())


def kind_choices() -> list[tuple[str, str]]:
    """All kinds as (slug, name)."""
    return [(kind.slug, kind.name) for kind in KINDS.values()]


def place(run_label: str, from_mm: int | None, to_mm: int | None) -> str:
    """Where an item is, in words: "North wall, from 2.4 m to 5.1 m (2.7 m)"."""
    at = where(from_mm, to_mm)
    if not at:
        return run_label
    if from_mm is None or to_mm is None or to_mm <= from_mm:
        return f"{run_label}, {at}"
    return f"{run_label}, {at} ({metres(to_mm - from_mm)})"
