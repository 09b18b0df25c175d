"""Entering the walls of a house, row by row, the way they are walked."""

from __future__ import annotations

import uuid

from django import forms

from portal.forms.layout import StyledForm
from portal.forms.lengths import MetresField, parse_metres
from readiness.actions.sites.sites import RunEntry
from readiness.models import WallRun
from readiness.rules.band.geometry import WallRun as PlainRun
from readiness.rules.band.perimeter import COMPASS, outline, wall_names
from readiness.rules.defects.catalogue import FINISHES

PREFIX = "wall"
MOST_WALLS = 60
FIRST_ROWS = 4

TURNS = {
    90: "Outside",
    -90: "Inside",
    0: "Straight on",
    45: "Outside 45°",
    -45: "Inside 45°",
}
"""The usual turns at the right-hand end of a wall; any other that is stored stays offered."""

RAW_NAMES = ("id", "label", "length", "finish", "turn")


class WallRow(StyledForm):
    """One wall. A row with neither a name nor a length is no wall."""

    id = forms.UUIDField(required=False, widget=forms.HiddenInput)
    length = MetresField(
        label="Length, m",
        required=False,
        minimum_mm=100,
        error_messages={"required": "Enter its length."},
    )
    label = forms.CharField(label="Name", max_length=60, required=False)
    finish = forms.ChoiceField(choices=list(FINISHES.items()))
    turn = forms.TypedChoiceField(
        label="Corner at its right end", choices=list(TURNS.items()), coerce=int
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["label"].widget.attrs["placeholder"] = "named automatically"
        unusual = _unusual_turn(self["turn"].value())
        if unusual is not None:
            self.fields["turn"].choices = [*TURNS.items(), (unusual, f"{unusual}°")]

    def clean(self):
        cleaned = super().clean()
        if "length" not in self.errors and not cleaned.get("length") and not self.is_blank:
            self.add_error("length", "Enter its length.")
        return cleaned

    @property
    def is_blank(self) -> bool:
        """Nothing typed: such a row is left out."""
        return not (self["label"].value() or "").strip() and not (self["length"].value() or "")

    def row_name(self) -> str:
        return self["label"].value() or f"Wall {int(self.prefix.rsplit('-', 1)[-1]) + 1}"


def _unusual_turn(value) -> int | None:
    """A believable turn that is not among the usual ones, such as a bay window's 30°."""
    try:
        turn = int(value)
    except (TypeError, ValueError):
        return None
    return turn if -180 <= turn <= 180 and turn not in TURNS else None


class FacingForm(StyledForm):
    """Which way the first wall faces, so that walls without a name can be named by it."""

    first_faces = forms.ChoiceField(
        label="The first wall faces",
        choices=[("", "Not known: Wall A, Wall B …"), *((way, way) for way in COMPASS)],
        required=False,
    )


class _WallRows(forms.BaseFormSet):
    def entries(self, first_faces: str = "") -> list[RunEntry]:
        """The walls as the action takes them; those without a name get one."""
        rows = [form.cleaned_data for form in self.forms if not form.is_blank]
        names = _names([(row["length"], row["turn"]) for row in rows], first_faces)
        taken = {row["label"].strip().casefold() for row in rows}
        return [
            RunEntry(
                label=row["label"].strip() or _free(name, taken),
                length_mm=row["length"],
                finish=row["finish"],
                turn_degrees=row["turn"],
                id=row["id"],
            )
            for row, name in zip(rows, names, strict=True)
        ]


WallRows = forms.formset_factory(
    WallRow, formset=_WallRows, extra=0, max_num=MOST_WALLS, absolute_max=MOST_WALLS
)


def _names(lengths_and_turns, first_faces: str) -> list[str]:
    plain = [
        PlainRun(id="", label="", length_mm=length, turn_degrees=turn)
        for length, turn in lengths_and_turns
    ]
    return wall_names(outline(plain).headings_degrees, first_faces)


def _free(name: str, taken: set[str]) -> str:
    """The name, or with a number where another wall has it already."""
    tried, number = name, 1
    while tried.casefold() in taken:
        number += 1
        tried = f"{name} {number}"
    taken.add(tried.casefold())
    return tried


def rows_of(runs) -> list[dict]:
    """Stored walls as the rows' initial values."""
    return [
        {
            "id": run.pk,
            "label": run.label,
            "length": run.length_mm,
            "finish": run.finish,
            "turn": run.turn_degrees,
        }
        for run in runs
    ]


def blank_rows(count: int = FIRST_ROWS, finish: str = "face_brick") -> list[dict]:
    """Empty rows to start from."""
    blank = {"label": "", "length": "", "finish": finish, "turn": 90}
    return [{"id": uuid.uuid4(), **blank} for _ in range(count)]


def raw_rows(data) -> list[dict]:
    """The rows exactly as typed, whether or not they can be understood."""
    try:
        count = min(int(data.get(f"{PREFIX}-TOTAL_FORMS", 0)), MOST_WALLS)
    except ValueError:
        count = 0
    return [
        {name: data.get(f"{PREFIX}-{n}-{name}", "") for name in RAW_NAMES} for n in range(count)
    ]


def rearranged(rows: list[dict], wish: str) -> list[dict]:
    """The rows after one press of a button: "add", or "up", "down" or "remove" with a number."""
    what, _, number = wish.partition(":")
    rows = list(rows)
    if what == "add":
        finish = rows[-1]["finish"] if rows else "face_brick"
        return (rows + blank_rows(1, finish or "face_brick"))[:MOST_WALLS]
    if not number.isdecimal() or int(number) >= len(rows):
        return rows
    place = int(number)
    if what == "remove":
        rows.pop(place)
    elif what == "up" and place > 0:
        rows[place - 1], rows[place] = rows[place], rows[place - 1]
    elif what == "down" and place < len(rows) - 1:
        rows[place + 1], rows[place] = rows[place], rows[place + 1]
    return rows


def runs_as_typed(rows: list[dict], first_faces: str) -> list[WallRun]:
    """Unsaved walls from the rows that can be understood so far, for the live plan."""
    runs = []
    for row in rows:
        try:
            length, turn = parse_metres(row["length"]), int(row["turn"] or 90)
        except (forms.ValidationError, ValueError):
            continue
        if 100 <= length <= 200_000 and -180 <= turn <= 180:
            runs.append(WallRun(label=row["label"].strip(), length_mm=length, turn_degrees=turn))
    names = _names([(run.length_mm, run.turn_degrees) for run in runs], first_faces)
    for run, name in zip(runs, names, strict=True):
        run.label = run.label or name
    return runs
