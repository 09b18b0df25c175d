"""Form fields for lengths as people type them at a wall."""

import re

from django import forms

from readiness.rules.band.entry import EntryError, parse_length_mm
from readiness.rules.words import metres, metres_exactly
from readiness.wording.refusals import lengths as refusals

LONGEST_WALL_MM = 200_000
_BETWEEN = re.compile(r";|,\s+|\s+(?=[\d.−-])")
"""Between two distances; a comma by itself is a decimal comma."""
_PLAIN = re.compile(r"^\s*\d+\s*$")


class MetresField(forms.CharField):
    """A length in metres: "12.4", "12,4", "12.4 m", "12400 mm" or "12400". Cleans to whole mm.

    A plain whole number past 200 is taken for mm: no wall is that many metres long.
    """

    def __init__(self, *, minimum_mm: int = 0, **kwargs):
        kwargs.setdefault("max_length", 20)
        super().__init__(**kwargs)
        self.minimum_mm = minimum_mm
        self.widget.attrs.update({"inputmode": "decimal"})

    def prepare_value(self, value):
        return metres_exactly(value) if isinstance(value, int) else value

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        length = parse_metres(text)
        if not self.minimum_mm <= length <= LONGEST_WALL_MM:
            low, high = metres(self.minimum_mm), metres(LONGEST_WALL_MM)
            raise forms.ValidationError(refusals.out_of_range(metres(length), low, high))
        return length

    def has_changed(self, initial, data):
        return super().has_changed(self.prepare_value(initial), data)


class MmField(forms.CharField):
    """A length in mm: "250", "250 mm" or "0.25 m". Cleans to whole mm, or None when blank."""

    def __init__(self, **kwargs):
        kwargs.setdefault("max_length", 20)
        kwargs.setdefault("required", False)
        super().__init__(**kwargs)
        self.widget.attrs.update({"inputmode": "decimal"})

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_length_mm(text)
        except EntryError as error:
            raise forms.ValidationError(refusals.length(error)) from None


class PlacesField(forms.CharField):
    """Distances along a wall: "0.5, 1.7, 2.9" or "0,5; 1,7". Cleans to a tuple of whole mm."""

    def __init__(self, **kwargs):
        kwargs.setdefault("max_length", 400)
        super().__init__(**kwargs)
        self.widget.attrs.update({"data-wide": True})

    def prepare_value(self, value):
        if isinstance(value, str) or value is None:
            return value
        return "; ".join(metres_exactly(place) for place in value)

    def clean(self, value):
        text = super().clean(value)
        return tuple(parse_metres(part) for part in _BETWEEN.split(text) if part.strip())


def parse_metres(text: str) -> int:
    """Whole mm from a length in metres as typed; ValidationError says how to write it."""
    unit = "mm" if _PLAIN.match(text) and int(text) > LONGEST_WALL_MM // 1000 else "m"
    try:
        return parse_length_mm(text, default_unit=unit)
    except EntryError as error:
        raise forms.ValidationError(refusals.length_in_metres(error.typed)) from None
