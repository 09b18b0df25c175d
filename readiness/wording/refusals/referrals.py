"""Why something can't be left to the technician, or decided by this person."""

from __future__ import annotations

from django.utils.translation import gettext as _


def another_find() -> str:
    return _("This form belongs to something else. Open it again, then send it.")


def no_cause() -> str:
    return _("Say why nobody can reach it: a boundary wall, or hidden behind something fixed.")


def half_a_stretch() -> str:
    return _("Enter where it begins and where it ends, or leave both empty for the whole wall.")


def noted_already(wall: str) -> str:
    return _("%(wall)s: this is noted already. See what was decided about it.") % {"wall": wall}


def no_name() -> str:
    return _("Your account has no name yet. Fill it in under your details, then decide.")


def no_licence() -> str:
    return _(
        "Only a licensed technician can decide this, and your account has no licence number. If "
        "you hold a licence, an owner enters its number on the Staff page."
    )


def settled() -> str:
    return _("This is decided. If live termites are found again, record it as a new find.")


def decided_meanwhile() -> str:
    return _("Somebody decided this while you were writing. Read that decision first.")


def no_outcome() -> str:
    return _("Choose what you decided.")


def no_reason() -> str:
    return _("Write why, in your own words. The builder and later readers read it.")
