"""The drawings of walls and plan, as the papers place them."""


def plan(snapshot) -> str:
    """The perimeter with its wall runs numbered and the items marked."""
    return ""


def elevation(run, snapshot, items) -> str:
    """One wall run from outside."""
    return ""
