"""What the code of a state or territory says, for sites there: to the office, and on papers."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.utils.translation import gettext as _

from readiness.rules.site.local_rules import LocalNote, LocalRule, local_notes


def for_office(state: str) -> list[tuple[str, bool]]:
    """Each note for sites in a state, and whether it is a warning."""
    return [(_said(note, _OFFICE), note.warns) for note in local_notes(state)]


def for_papers(state: str) -> list[str]:
    """The same as papers print it."""
    return [_said(note, _PAPER) for note in local_notes(state)]


def _said(note: LocalNote, then: Mapping[LocalRule, Callable[[], str]]) -> str:
    source = _("ABCB Housing Provisions %(edition)s, %(clause)s") % {
        "edition": note.edition,
        "clause": note.clause,
    }
    return f"{_RULE[note.rule]() % {'source': source}} {then[note.rule]()}"


_RULE: Mapping[LocalRule, Callable[[], str]] = {
    LocalRule.NT_COVERED_TRENCH: lambda: _(
        "Northern Territory: where Mastotermes termites are prevalent, an external chemical "
        "perimeter goes into a trench, under a concrete strip at least 50 mm thick and 300 mm "
        "wide (%(source)s). Treating the face of the wall does not match that."
    ),
    LocalRule.QLD_DESIGN_LIFE: lambda: _(
        "Queensland: the termite management system of a house needs a design life of at least 50 "
        "years (%(source)s). This treatment is only a part of that system."
    ),
}

_OFFICE: Mapping[LocalRule, Callable[[], str]] = {
    LocalRule.NT_COVERED_TRENCH: lambda: _(
        "Find out what the approved plans ask for before you offer a day."
    ),
    LocalRule.QLD_DESIGN_LIFE: lambda: _("Check what the product label says of its life."),
}

_PAPER: Mapping[LocalRule, Callable[[], str]] = {
    LocalRule.NT_COVERED_TRENCH: lambda: _(
        "The approved plans and the certifier say what is needed there."
    ),
    LocalRule.QLD_DESIGN_LIFE: lambda: _(
        "The approved plans and the certifier say what the whole system is."
    ),
}
