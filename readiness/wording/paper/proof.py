"""What a paper says of the checkpoint that it carries: what it proves, and what not."""

from __future__ import annotations

from django.utils.translation import gettext as _


def heading() -> str:
    return _("Check this paper")


def proves(size: int, made: str) -> str:
    """`made` is when the checkpoint was signed: "3:20 pm on Thu 12 March 2026"."""
    return _(
        "Held against our record, this file shows whether any of its %(size)s entries up to "
        "%(made)s was changed later."
    ) % {"made": made, "size": f"{size:,}"}


def proves_not() -> str:
    return _("It does not show that what was recorded is true.")


def to_check() -> str:
    """Before the link itself."""
    return _("Scan the code, or open")


def attached() -> str:
    """Describes the file that is attached to each paper."""
    return _("The signed checkpoint of the record that this paper carries")
