"""The shape of a catalogue entry, and how a measurement is held against its rule."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import Any

from readiness.rules.values.rule_value import AT_LEAST, Values
from readiness.rules.vocabulary import Caution, Effect
from readiness.rules.words import amount, sentence, where

INFORMATION = "information"


@dataclass(frozen=True)
class Measurement:
    """What a person measures for a kind of defect, and the rule it is held against.

    `minimum` and `maximum` bound what is believable for a person with a tape (inclusive).
    `comparison` says how the rule reads: the value must be at least, or at most, the rule value;
    `information` has no rule.
    """

    label: str
    unit: str
    minimum: int
    maximum: int
    rule_key: str | None = None
    comparison: str = INFORMATION
    help: str = ""


@dataclass(frozen=True)
class DefectKind:
    """One kind of thing that can be wrong, as data plus words.

    `name` is what all call it: button, item, fix list and paper. `fix` is the required fix with no
    number in it; `fix_measured` is used when there is a measurement that breaks the rule, and may
    say {found}, {needed}, {difference} (each with its unit). `fix_by_size` has other words for
    sizes that don't break it: pairs of a rule value's key and the words for what is no larger, the
    smallest first; they may say {found}. All may say {where} ("from 2.4 m to 5.1 m", or nothing)
    and any rule value by its key. `cautions` are said with every fix of the kind.
    """

    slug: str
    name: str
    look_for: str
    fix: str
    trade: str
    minutes: int
    fix_measured: str = ""
    fix_by_size: tuple[tuple[str, str], ...] = ()
    cautions: tuple[Caution, ...] = ()
    measurement: Measurement | None = None
    measurement_required: bool = False
    effect: str = Effect.HOLDS
    working_days: int = 3
    has_extent: bool = True
    needs_photo: bool = True
    drawing: str = ""
    wets_wall: bool = False  # its fix may wet the wall, which then has to dry

    @property
    def drawing_key(self) -> str:
        """The name of the kind's symbol in the drawings."""
        return self.drawing or self.slug

    def days_before(self, values: Values) -> int:
        """Working days before the treatment that a fix of this kind is due."""
        return max(self.working_days, values["due_working_days"])

    def required_fix(
        self,
        values: Values,
        *,
        measured: int | Decimal | None = None,
        from_mm: int | None = None,
        to_mm: int | None = None,
    ) -> str:
        """The required fix in plain words, with the millimetres filled in where they are known."""
        check = check_measurement(self, measured, values)
        blanks = _Blanks(values, where=where(from_mm, to_mm), found="", difference="")
        blanks["needed"] = check.needed_words if check else self._needed(values)
        if check:
            blanks |= {"found": check.found_words, "difference": check.difference_words}
        text = self._fix_for(check, values).format_map(blanks)
        return sentence(re.sub(r" (?=[,.:;])", "", " ".join(text.split())))

    def _fix_for(self, check: MeasurementCheck | None, values: Values) -> str:
        """The words for what was measured, if anything was."""
        if check is None:
            return self.fix
        if not check.ok:
            return self.fix_measured or self.fix
        sizes = (text for key, text in self.fix_by_size if check.found <= values[key])
        return next(sizes, self.fix)

    def _needed(self, values: Values) -> str:
        spec = self.measurement
        if spec is None or spec.rule_key is None or spec.rule_key not in values:
            return ""
        return amount(values[spec.rule_key], spec.unit)


class _Blanks(dict[str, str]):
    """What is put into the words of a fix: its own blanks, else the rule value of that key."""

    def __init__(self, values: Values, **blanks: str):
        super().__init__(blanks)
        self.values_in_force = values

    def __missing__(self, key: str) -> str:
        return self.values_in_force.words(key) if key in self.values_in_force else ""


def kind_words(kind: DefectKind) -> dict[str, Any]:
    """What papers say of a kind, as JSON can hold it: its name, what is measured, its cautions."""
    return {
        "name": kind.name,
        "measurement": asdict(kind.measurement) if kind.measurement else None,
        "cautions": [caution.value for caution in kind.cautions],
    }


def with_words(kind: DefectKind, words: Mapping[str, Any]) -> DefectKind:
    """The kind as it was called and measured when `kind_words` was kept."""
    measured = words["measurement"]
    return replace(
        kind,
        name=words["name"],
        measurement=Measurement(**measured) if measured else None,
        cautions=tuple(Caution(code) for code in words["cautions"]),
    )


@dataclass(frozen=True)
class MeasurementCheck:
    """A measured value held against its rule. `believable` is False outside the tape's range,
    which is from `minimum` to `maximum`. `label` is what was measured.
    """

    ok: bool
    believable: bool
    found: int | Decimal
    needed: int | Decimal | None
    difference: int | Decimal
    unit: str
    rule_key: str | None
    rule_label: str
    source: str
    label: str
    comparison: str
    minimum: int
    maximum: int

    @property
    def found_words(self) -> str:
        return amount(self.found, self.unit)

    @property
    def needed_words(self) -> str:
        return "" if self.needed is None else amount(self.needed, self.unit)

    @property
    def difference_words(self) -> str:
        return amount(self.difference, self.unit)


def check_measurement(
    kind: DefectKind, measured: int | Decimal | None, values: Values
) -> MeasurementCheck | None:
    """Hold a measurement against the rule of its kind; None if there is nothing to hold.

    A value outside the believable range comes back with `believable` False; one that meets the
    rule with `ok` True.
    """
    spec = kind.measurement
    if spec is None or measured is None:
        return None
    known = spec.rule_key if spec.rule_key in values else None
    rule = values.rule(known) if known else None
    needed = values[known] if known else None
    label, source = (rule.label, values.source_words(rule.key)) if rule else ("", "")
    common: dict[str, Any] = {
        "found": measured, "needed": needed, "unit": spec.unit,
        "rule_key": known, "rule_label": label, "source": source, "label": spec.label,
        "comparison": spec.comparison, "minimum": spec.minimum, "maximum": spec.maximum,
    }  # fmt: skip
    if not spec.minimum <= measured <= spec.maximum:
        return MeasurementCheck(ok=False, believable=False, difference=0, **common)
    if needed is None:
        return MeasurementCheck(ok=True, believable=True, difference=0, **common)
    short = needed - measured if spec.comparison == AT_LEAST else measured - needed
    gap = max(short, type(short)(0))
    return MeasurementCheck(ok=short <= 0, believable=True, difference=gap, **common)
