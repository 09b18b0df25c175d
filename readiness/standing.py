"""How items stand that a draft carries along from the report it will take the place of."""

from collections.abc import Iterable

from readiness.models import DefectItem

AS_IT_STANDS = (
    "state",
    "state_changed_at",
    "disputed_at",
    "disputed_by",
    "dispute_reason",
    "decided_at",
    "decided_by",
    "decision",
    "decision_reason",
)
"""What comes along from the item as it stands, not as it was found."""


def standing(items: Iterable[DefectItem]) -> list[DefectItem]:
    """Items of a draft as they would be issued now; nothing is saved."""
    return [follow(item) for item in items]


def follow(item: DefectItem) -> DefectItem:
    """Let an item stand as the one that it was carried over from; it is not saved."""
    origin = item.carried_from
    if origin is not None and item.effect == origin.effect:
        for name in AS_IT_STANDS:
            setattr(item, name, getattr(origin, name))
    return item
