"""What is said with every fix of a kind, the same to everyone who reads it: what must not be done,
or can hurt. A kind has the codes (`readiness.rules.vocabulary.Caution`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from django.utils.translation import gettext as _

from readiness.models import DefectItem
from readiness.rules.vocabulary import OPEN_STATES, Caution, Effect

_SAID: Mapping[Caution, Callable[[], str]] = {
    Caution.NO_MORTAR: lambda: _(
        "No mortar in an articulation joint, against a frame or round a pipe: ask us first."
    ),
    Caution.SILICA: lambda: _(
        "Cutting, raking and chipping make silica dust: keep it down with water or a vacuum, and "
        "wear a mask."
    ),
    Caution.NO_ACID: lambda: _(
        "No acid on brick that is to be treated, unless it is rinsed off and neutralised: tell us "
        "first."
    ),
    Caution.ACID: lambda: _(
        "Acid burns skin and eyes: follow its label, wear gloves and eye protection, and wet the "
        "wall first."
    ),
    Caution.WASHING: lambda: _(
        "Pressure washer: at most 7 MPa, nozzle 500 mm off the wall, and mortar at least 7 days "
        "old (brick suppliers’ advice)."
    ),
    Caution.SEALANT: lambda: _(
        "The treatment liquid has a solvent in it: use a sealant whose maker says that it stands "
        "solvents, and let it cure before the treatment."
    ),
    Caution.SERVICES: lambda: _("Find buried pipes and cables before you dig."),
    Caution.INSTALLATIONS: lambda: _(
        "Leave a meter, gas or power installation where it is: ask us and its own trade."
    ),
}

_SAID_BEFORE: Mapping[Caution, str] = {
    Caution.SILICA: "Keep the dust down and wear a mask: it holds silica.",
    Caution.NO_ACID: "No acid on brick that is to be treated: ask us first.",
}
"""How versions up to 0.2 said it in the words of a fix themselves."""


def caution(code: Caution) -> str:
    """The caution in one sentence."""
    return _SAID[code]()


def beside_fix(fix: str, cautions: Iterable[Caution]) -> tuple[str, ...]:
    """What is said beside a required fix: the cautions that its own words don't have already."""
    said = [(code, caution(code)) for code in cautions]
    return tuple(
        words
        for code, words in said
        if words not in fix and _SAID_BEFORE.get(code, words) not in fix
    )


BEFORE_SPRAYING = frozenset({Caution.SEALANT, Caution.NO_ACID})
"""What whoever treats the wall has to know too, whoever did the fix."""


def of_item(item: DefectItem) -> tuple[str, ...]:
    """What is said beside an item's required fix; nothing where nobody is asked to fix it."""
    if item.effect == Effect.RECORD:
        return ()
    return beside_fix(item.required_fix, item.kind_entry.cautions)


def on_the_day(items: Iterable[DefectItem]) -> tuple[str, ...]:
    """What whoever treats the walls has to know of the items there, each sentence once.

    Of those that they fix themselves all that goes with the fix; of the others what the liquid
    meets on the wall.
    """
    found: dict[Caution, None] = {}
    for item in items:
        ours = item.effect == Effect.ON_THE_DAY and item.state in OPEN_STATES
        for code in item.kind_entry.cautions:
            if ours or (item.effect != Effect.RECORD and code in BEFORE_SPRAYING):
                found[code] = None
    return tuple(caution(code) for code in found)
