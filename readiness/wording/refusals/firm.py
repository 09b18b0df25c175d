"""Why the business's own settings can't be kept."""

from __future__ import annotations

from django.utils.translation import gettext as _


def no_name() -> str:
    return _("Enter the name of the business. It is on every paper.")


def no_statement() -> str:
    return _("Enter the statement that builders sign.")
