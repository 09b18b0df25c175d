"""Why no new edition of a paper is made."""

from __future__ import annotations

from django.utils.translation import gettext as _


def no_reason_for_edition() -> str:
    return _("Say why a new edition is made. It is printed on it.")
