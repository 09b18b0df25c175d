"""What the readiness confirmation says."""

from __future__ import annotations

from django.utils.translation import gettext as _


def name() -> str:
    """The paper's name."""
    return _("Readiness confirmation")


def description(person: str, moment: str) -> str:
    """What the file's properties say of it."""
    return _("Signed by %(person)s, %(moment)s") % {"person": person, "moment": moment}


def ticks() -> list[tuple[str, str]]:
    """What is ticked for each wall: its code, and how it reads."""
    return [("clean", _("Clean")), ("dry", _("Dry")), ("clear", _("Nothing against it"))]
