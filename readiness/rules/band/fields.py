"""Values of a JSON file: each read as what it has to be, or noted as a mistake with its place."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any

from readiness.rules.band.geometry import GroundPoint

HIGHEST_MM = 20_000
MOST_PARTS = 2_000

_LITRES = re.compile(r"\d{1,4}(\.\d{1,6})?", re.ASCII)


def shown(value: object) -> str:
    """A value as the file has it, cut where it is long."""
    text = json.dumps(value, ensure_ascii=True, default=str)
    return text if len(text) <= 40 else text[:37] + "..."


def _name(key: str) -> str:
    """A key as it is where it can be read, as JSON where not."""
    return key if key.isascii() and key.isidentifier() and len(key) <= 40 else shown(key)


class Fields:
    """Reads value after value; a bad one is noted in `mistakes`, and reads as another.

    `stored` is the object that the value stands in, `at` what its place is called: "walls[0].".
    """

    def __init__(self) -> None:
        self.mistakes: list[str] = []

    def keys(
        self, stored: dict[str, Any], at: str, needed: Iterable[str], more: Iterable[str] = ()
    ) -> None:
        """Each key that is needed is there, and no other but those of `more`."""
        needed = tuple(needed)
        self.mistakes += [f"{at}{key} is missing." for key in needed if key not in stored]
        self.mistakes += [
            f"{at}{_name(key)} is not a key that this version knows."
            for key in stored
            if key not in needed and key not in more
        ]

    def whole(
        self, stored: dict[str, Any], at: str, key: str, least: int, most: int, unset: int = 0
    ) -> int:
        if key not in stored:
            return unset
        value = stored[key]
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self.mistakes.append(
            f"{at}{key} has to be a whole number from {least} to {most}; it is {shown(value)}."
        )
        return unset

    def level(self, stored: dict[str, Any], at: str, key: str, unset: int = 0) -> int:
        return self.whole(stored, at, key, -HIGHEST_MM, HIGHEST_MM, unset)

    def level_or_none(self, stored: dict[str, Any], at: str, key: str) -> int | None:
        return None if stored.get(key) is None else self.level(stored, at, key)

    def litres(self, stored: dict[str, Any], key: str) -> Fraction:
        value = stored.get(key, "0")
        if isinstance(value, str) and _LITRES.fullmatch(value):
            return Fraction(value)
        self.mistakes.append(
            f'{key} has to be a number of litres as text, such as "1.0"; it is {shown(value)}.'
        )
        return Fraction(0)

    def boolean(self, stored: dict[str, Any], at: str, key: str) -> bool:
        value = stored.get(key, False)
        if not isinstance(value, bool):
            self.mistakes.append(f"{at}{key} has to be true or false; it is {shown(value)}.")
        return value is True

    def text(self, stored: dict[str, Any], at: str, key: str) -> str:
        value = stored.get(key, "?")
        if isinstance(value, str) and value.strip() and len(value) <= 200:
            return value
        self.mistakes.append(
            f"{at}{key} has to be a text of 1 to 200 characters; it is {shown(value)}."
        )
        return ""

    def choice(self, stored: dict[str, Any], at: str, key: str, choices: Iterable[str]) -> str:
        value, known = stored.get(key), [str(choice) for choice in choices]
        if key not in stored or (isinstance(value, str) and value in known):
            return str(value or "")
        names = ", ".join(shown(name) for name in known)
        self.mistakes.append(f"{at}{key} has to be one of {names}; it is {shown(value)}.")
        return ""

    def extent(
        self, stored: dict[str, Any], at: str, length: int, *, may_be_one: bool = False
    ) -> tuple[int, int]:
        before = len(self.mistakes)
        start = self.whole(stored, at, "from_mm", 0, length)
        end = self.whole(stored, at, "to_mm", 0, length)
        good = start <= end if may_be_one else start < end
        if not good and len(self.mistakes) == before and {"from_mm", "to_mm"} <= stored.keys():
            self.mistakes.append(f"{at}to_mm has to be more than from_mm.")
        return start, end

    def part(
        self, stored: dict[str, Any], at: str, key: str, made: Callable[[dict[str, Any], str], Any]
    ) -> Any:
        """What `made` reads from an object; None from null."""
        value = stored.get(key)
        if value is None:
            return None
        if isinstance(value, dict):
            return made(value, f"{at}{key}.")
        self.mistakes.append(f"{at}{key} has to be an object or null; it is {shown(value)}.")
        return None

    def parts(
        self,
        stored: dict[str, Any],
        at: str,
        key: str,
        made: Callable[[dict[str, Any], str], Any],
        most: int = MOST_PARTS,
    ) -> list[Any]:
        """What `made` reads from each object of a list."""
        found = []
        for place, value in enumerate(self.listed(stored, at, key, most)):
            if isinstance(value, dict):
                found.append(made(value, f"{at}{key}[{place}]."))
            else:
                self.mistakes.append(
                    f"{at}{key}[{place}] has to be an object; it is {shown(value)}."
                )
        return found

    def listed(self, stored: dict[str, Any], at: str, key: str, most: int) -> list[Any]:
        value = stored.get(key, [])
        if not isinstance(value, list):
            self.mistakes.append(f"{at}{key} has to be a list; it is {shown(value)}.")
            return []
        if len(value) > most:
            self.mistakes.append(f"{at}{key} has {len(value)} entries; {most} at most are read.")
            return []
        return value

    def points(
        self, stored: dict[str, Any], at: str, key: str, length: int
    ) -> tuple[GroundPoint, ...]:
        """Distances and levels from left to right, at most two levels at one distance."""
        if stored.get(key, 0) is None and key == "ground_finished":
            return ()
        found: list[GroundPoint] = []
        for place, value in enumerate(self.listed(stored, at, key, MOST_PARTS)):
            where = f"{at}{key}[{place}]"
            point = self.point(value, where, length)
            if point is None:
                continue
            if found and point.distance_mm < found[-1].distance_mm:
                self.mistakes.append(f"{where} lies left of the point before it.")
            elif len(found) > 1 and found[-2].distance_mm == point.distance_mm:
                self.mistakes.append(f"{where} is a third level at {point.distance_mm} mm.")
            found.append(point)
        return tuple(found)

    def point(self, value: object, where: str, length: int) -> GroundPoint | None:
        if not isinstance(value, list) or len(value) != 2:
            self.mistakes.append(
                f"{where} has to be a distance and a level, [mm, mm]; it is {shown(value)}."
            )
            return None
        before = len(self.mistakes)
        pair = {"distance": value[0], "level": value[1]}
        distance = self.whole(pair, f"{where}: its ", "distance", 0, length)
        level = self.level(pair, f"{where}: its ", "level")
        return GroundPoint(distance, level) if len(self.mistakes) == before else None
