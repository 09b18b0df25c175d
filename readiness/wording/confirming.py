"""What the builder ticks of each wall before they sign."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

_TICKS: Mapping[str, str] = {
    "clean": later("clean"),
    "dry": later("dry"),
    "clear": later("nothing against it"),
}


def tick_words(tick: str) -> str:
    """The words beside a box."""
    return _(_TICKS[tick])
