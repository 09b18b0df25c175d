"""What is measured on a wall run, typed the way it is measured."""

from __future__ import annotations

from django import forms

from portal.forms.layout import StyledForm
from portal.forms.lengths import MetresField, MmField, PlacesField
from readiness.rules.band.geometry import COMMON_BLOCK, UNITS, Unit
from readiness.rules.defects.catalogue import SURFACES
from readiness.rules.words import metres_exactly

MOST_ROWS = 40

GROUND_FROM = {
    "slab": "the top of the slab, down",
    "bed_joint": "the measured bed joint, down",
}
LINE_FROM = {
    "slab": "the top of the slab, down",
    "bed_joint": "the measured bed joint, down",
    "ground": "today's ground at the left end, up",
}
RENDER_FROM = {key: words for key, words in LINE_FROM.items() if key != "bed_joint"}
JOINT_KINDS = {"articulation": "Articulation joint", "crack": "Open crack"}
OWN_UNIT = "own"
NO_WALL_BELOW, WALL_BELOW = "no", "yes"
BELOW = {
    "": "Not known",
    NO_WALL_BELOW: "No wall below it in the band",
    WALL_BELOW: "Wall below it, up to the threshold",
}


def unit_code(unit: Unit | None) -> str:
    """The choice that a unit is: its sizes, or that it is none of the usual ones."""
    if unit is None:
        return ""
    return f"{unit.height_mm}x{unit.length_mm}" if unit in UNITS else OWN_UNIT


def _unit_words(unit: Unit) -> str:
    what = "block" if unit == COMMON_BLOCK else "brick"
    return f"{what.capitalize()}, {unit.height_mm} mm high, {unit.length_mm} mm long"


UNIT_OF = {unit_code(unit): unit for unit in UNITS}
UNIT_CHOICES = {
    "": "Not entered",
    **{code: _unit_words(unit) for code, unit in UNIT_OF.items()},
    OWN_UNIT: "Another size, entered below",
}


ON_BRICK_ONLY = ("bed_joint", "perpend", "raked")


class LevelsForm(StyledForm):
    """The single numbers of a run."""

    ground_from = forms.ChoiceField(label="Ground measured from", choices=list(GROUND_FROM.items()))
    bed_joint = MmField(label="A bed joint you can see, mm down from the top of the slab")
    gauge_courses = forms.IntegerField(label="Courses", required=False)
    gauge_height = MmField(label="Height of these courses, mm")
    struck_joint = MmField(label="Struck joint, mm")
    struck_from = forms.ChoiceField(label="Measured from", choices=list(RENDER_FROM.items()))
    weep_from = forms.ChoiceField(label="Underside measured from", choices=list(LINE_FROM.items()))
    surface = forms.ChoiceField(label="Ground beside the wall", choices=list(SURFACES.items()))
    fall = MmField(label="Fall in the first metre, mm")
    courses_treated = forms.IntegerField(label="Courses treated", required=False)
    unit = forms.ChoiceField(
        label="Brick or block", choices=list(UNIT_CHOICES.items()), required=False
    )
    unit_height = MmField(label="Its height, mm")
    unit_length = MmField(label="Its length, mm")
    unit_joint = MmField(label="Joint thickness, mm")
    brick_length = MmField(label="Length as measured, mm")
    brick_bottom = MmField(label="Brickwork starts, mm down")
    perpend = MetresField(label="Upright joint at, m", required=False)
    raked = MmField(label="Joints raked, mm")
    slab_down = MmField(label="Slab lower by, mm")

    def __init__(self, *args, is_rendered: bool, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("gauge_courses", "courses_treated"):
            self.fields[name].widget = forms.TextInput(
                attrs={
                    "class": "form-control",
                    "inputmode": "numeric",
                    "maxlength": 4,
                }
            )
        if is_rendered:
            for name in ON_BRICK_ONLY:
                del self.fields[name]
            self.fields["ground_from"].choices = [("slab", GROUND_FROM["slab"])]
            self.fields["weep_from"].choices = list(RENDER_FROM.items())
        else:
            del self.fields["struck_joint"], self.fields["struck_from"]

    def clean(self):
        cleaned = super().clean()
        courses, height = cleaned.get("gauge_courses"), cleaned.get("gauge_height")
        if (courses is None) != (height is None) and not self.errors:
            missing = "gauge_height" if height is None else "gauge_courses"
            self.add_error(missing, "Enter both: the number of courses and their height.")
        if cleaned.get("unit") == OWN_UNIT:
            for name in ("unit_height", "unit_length"):
                if cleaned.get(name) is None and name not in self.errors:
                    self.add_error(name, "Enter the size, or choose one above.")
        return cleaned


class _Row(StyledForm):
    """A row of a list. With nothing typed it is left out; half typed, it says what is missing."""

    needed: tuple[str, ...] = ()

    def __init__(self, *args, run_length_mm: int = 0, **kwargs):
        super().__init__(*args, **kwargs)
        self.run_length_mm = run_length_mm

    @property
    def is_blank(self) -> bool:
        return not any(str(self[name].value() or "").strip() for name in self.needed)

    @property
    def is_complete(self) -> bool:
        """Everything that is needed was typed and can be read."""
        return not self.errors and not self.is_blank and self._missing() is None

    def _missing(self) -> str | None:
        return next((name for name in self.needed if self.cleaned_data.get(name) is None), None)

    def clean(self):
        cleaned = super().clean()
        if not self.is_blank and not self.errors:
            name = next((n for n in self.needed if cleaned.get(n) is None), None)
            if name:
                self.add_error(name, "Fill this in.")
        return cleaned


class GroundRow(_Row):
    at = MetresField(label="At, m", required=False)
    mm = MmField(label="mm down")
    needed = ("at", "mm")

    @property
    def is_blank(self) -> bool:
        """The two ends of the wall are filled in beforehand: by themselves they say nothing."""
        if str(self["mm"].value() or "").strip():
            return False
        at = str(self["at"].value() or "").strip()
        return at in ("", "0", metres_exactly(self.run_length_mm))


class StruckRow(_Row):
    at = MetresField(label="From, m", required=False)
    mm = MmField(label="mm down from the slab")
    needed = ("at", "mm")


class WeepRow(_Row):
    """A row of weep holes; blank ends are the ends of the wall."""

    mm = MmField(label="Underside, mm")
    spacing = MmField(label="Spacing, mm")
    start = MetresField(label="From, m", required=False)
    end = MetresField(label="To, m", required=False)
    places = PlacesField(label="Or position of each hole (m), e.g. 0.5, 1.7", required=False)
    needed = ("mm",)

    @property
    def is_blank(self) -> bool:
        """A row with anything typed says what is missing, so that nothing is dropped unseen."""
        return not any(str(field.value() or "").strip() for field in self)


class FinishRow(_Row):
    start = MetresField(label="From, m", required=False)
    end = MetresField(label="To, m", required=False)
    thickness = MmField(label="Thickness, mm")
    surface = forms.ChoiceField(
        label="Material", choices=list(SURFACES.items()), initial="paving", required=False
    )
    needed = ("start", "end", "thickness")


class JointRow(_Row):
    at = MetresField(label="At, m", required=False)
    width = MmField(label="Width, mm")
    depth = MmField(label="Depth, mm")
    height = MmField(label="Height, mm")
    kind = forms.ChoiceField(label="Kind", choices=list(JOINT_KINDS.items()), required=False)
    needed = ("at", "width")


class AttachmentRow(_Row):
    label = forms.CharField(label="What", required=False, max_length=60)
    at = MetresField(label="At, m", required=False)
    gap = MmField(label="Clear gap, mm")
    needed = ("at", "gap")


class OpeningRow(_Row):
    start = MetresField(label="From, m", required=False)
    end = MetresField(label="To, m", required=False)
    below = forms.ChoiceField(label="Below it", choices=list(BELOW.items()), required=False)
    threshold = MmField(label="Threshold, mm down")
    label = forms.CharField(
        label="What",
        required=False,
        max_length=60,
        widget=forms.TextInput(attrs={"data-wide": True}),
    )
    needed = ("start", "end")

    def clean(self):
        cleaned = super().clean()
        known = cleaned.get("threshold") is not None or "threshold" in self.errors
        if cleaned.get("below") == WALL_BELOW and not known:
            self.add_error("threshold", "Enter how far the wall goes up.")
        return cleaned


def _rows(form) -> type[forms.BaseFormSet]:
    return forms.formset_factory(form, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS)


ROWS = {
    "ground": _rows(GroundRow),
    "finishes": _rows(FinishRow),
    "finished": _rows(GroundRow),
    "struck": _rows(StruckRow),
    "weeps": _rows(WeepRow),
    "joints": _rows(JointRow),
    "attachments": _rows(AttachmentRow),
    "openings": _rows(OpeningRow),
}
"""The lists of a run, by the prefix of their rows."""
