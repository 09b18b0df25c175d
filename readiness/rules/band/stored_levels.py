"""What was measured on a wall run, as it is stored: its version, and readers for the older ones.

Version 1 carries no `version`. Its form filled the gauge in beforehand, with the usual one or
another wall's, and stored it whether or not anybody had measured it: nobody can tell any more.
Version 2 has `version` and says of a gauge whether it was measured on this wall (`true`), or that
this is not known (`null`). A gauge that nobody measured is not stored.
Version 3 calls the bed joint that was measured `bed_joint_mm`, as it need not be the lowest; it has
the unit, a perpend, where the brickwork starts, how deep joints are raked, and of each opening its
threshold and whether there is wall below. Ground may have two points at one distance, a step.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

VERSION = 3


class UnknownLevels(ValueError):
    """Levels of a version that this program can't read; the text says which."""


def version_of(stored: Mapping[str, Any]) -> int:
    """The version of stored levels; UnknownLevels for one that is not known here."""
    version = stored.get("version", 1)
    if not isinstance(version, int) or isinstance(version, bool) or not 1 <= version <= VERSION:
        raise UnknownLevels(
            f"These levels are of version {version!r}; versions 1 to {VERSION} can be read. "
            "A newer program wrote them: upgrade this one first."
        )
    return version


def upgraded(stored: Mapping[str, Any] | None) -> dict[str, Any]:
    """Stored levels of any known version, in the shape of this one. Nothing stays nothing."""
    if not stored:
        return {}
    levels = dict(stored)
    for version in range(version_of(levels), VERSION):
        levels = _READERS[version](levels) | {"version": version + 1}
    return levels


def _from_1(levels: dict[str, Any]) -> dict[str, Any]:
    gauge = levels.get("gauge")
    return levels | {"gauge": gauge | {"measured": None}} if gauge else levels


def _from_2(levels: dict[str, Any]) -> dict[str, Any]:
    joint_mm = levels.pop("first_bed_joint_mm", None)
    return levels if joint_mm is None else levels | {"bed_joint_mm": joint_mm}


_READERS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _from_1, 2: _from_2}
"""From the shape of each older version to the next."""
