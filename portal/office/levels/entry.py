"""The form of a wall's levels, and from it to the plain run that the rules take."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.http import QueryDict

from portal.office.levels.forms import (
    NO_WALL_BELOW,
    OWN_UNIT,
    ROWS,
    UNIT_OF,
    WALL_BELOW,
    LevelsForm,
)
from portal.office.levels.row_buttons import MORE, REMOVE, with_rows_changed
from portal.office.levels.shown import initial, row_values
from portal.requests import whole_form
from readiness.facts import run_facts
from readiness.models import WallRun
from readiness.rules.band.believable import Unbelievable
from readiness.rules.band.entry import EntryError, level_mm
from readiness.rules.band.geometry import (
    Attachment,
    FinishToCome,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    Perpend,
    StruckStep,
    Unit,
    WeepHoles,
)
from readiness.rules.band.geometry import WallRun as PlainRun
from readiness.rules.values.rule_values import RuleValues
from readiness.wording.levels import gauge_doubts, gauge_from_photo
from readiness.wording.refusals import lengths as refusals

SECTIONS = {
    "gauge": "brick", "bed_joint_mm": "brick", "struck_joint_mm": "brick", "struck_steps": "brick",
    "ground_today": "ground", "ground_finished": "finished", "finishes_to_come": "finishes",
    "joints": "joints", "attachments": "attachments", "weep_holes": "weeps",
    "openings": "openings", "unit": "wall", "brick_length_mm": "wall", "brick_bottom_mm": "wall",
    "perpend": "wall", "raked_mm": "wall", "slab_level_mm": "wall", "courses_treated": "wall",
    "fall_mm": "more",
}  # fmt: skip
"""The part of the page where a number of the rules was typed."""

SAME_ALL_ROUND = (
    "bed_joint_mm", "unit", "brick_length_mm", "courses_treated", "weep_holes", "struck_joint_mm",
    "surface",
)  # fmt: skip
"""What is mostly the same on every wall of a house, so that one wall fills in the next.

Not the gauge: it counts as measured on the wall that it is stored with.
"""


@dataclass(frozen=True)
class TypedProblem:
    """Something that can't be used, and the part of the page where it was typed."""

    sentence: str
    section: str


class LevelsEntry:
    """The form and lists of one wall run.

    Unbound it shows what is stored, or what another wall suggests. Bound, `run` is the plain run
    as typed: rows that are blank or not whole yet are left out of it, and `problems` says why.
    """

    def __init__(self, stored: WallRun, values: RuleValues, data=None, like: WallRun | None = None):
        self.stored = stored
        self.values = values
        self.base = run_facts(stored)
        shown = self.base
        self.suggested_by = ""
        if data is None and like is not None and not stored.levels:
            shown = _suggested(self.base, run_facts(like))
            self.suggested_by = like.label
        self.changes_rows = data is not None and (MORE in data or REMOVE in data)
        if self.changes_rows:
            data = with_rows_changed(data)
        rendered = self.base.is_rendered
        self.form = LevelsForm(data, initial=initial(shown), is_rendered=rendered)
        self.rows = {
            name: made(data, initial=None if data is not None else row_values(name, shown),
                       prefix=name, form_kwargs={"run_length_mm": self.base.length_mm})
            for name, made in ROWS.items()
            if rendered or name != "struck"
        }  # fmt: skip
        self.problems: list[TypedProblem] = []
        self.run = self._typed() if data is not None else shown

    @property
    def gauge_left_blank(self) -> str:
        """What is used where no gauge is typed, and how sure that is."""
        used = self.base.gauge
        if used is None or used.measured:
            used = replace(self.run, gauge=None).gauge_or_nominal(self.values)
        return " ".join(gauge_doubts(used))

    @property
    def gauge_from_photo(self) -> str:
        """That the gauge in the form was measured on a photo; empty where it was not."""
        gauge = self.run.gauge
        return gauge_from_photo(gauge) if gauge is not None and gauge.from_photo else ""

    @property
    def usual_unit(self) -> Unit:
        """What stands in where no brick or block is named."""
        return replace(self.run, unit=None, brick_length_mm=None).unit_or_usual(self.values)

    @property
    def usual_courses(self) -> int:
        return replace(self.run, courses_treated=None).courses_asked(self.values)

    @property
    def says_more_of_wall(self) -> bool:
        """Something under "more about this wall" was entered."""
        run = self.run
        named = (run.unit, run.brick_length_mm, run.brick_bottom_mm, run.perpend, run.raked_mm)
        return any(part is not None for part in named) or bool(
            run.slab_level_mm or run.courses_treated
        )

    def is_valid(self) -> bool:
        """Whether everything typed can be read; half-typed rows can't."""
        return self.form.is_valid() and all(rows.is_valid() for rows in self.rows.values())

    def filled_up(self, data: QueryDict) -> LevelsEntry:
        """This entry with what was sent from a page that was not there in full."""
        whole = whole_form.filled_up(data, self.form, *self.rows.values())
        for button in (MORE, REMOVE):
            whole.pop(button, None)
        return LevelsEntry(self.stored, self.values, whole)

    def _typed(self) -> PlainRun:
        self.form.is_valid()
        typed = self.form.cleaned_data
        run = replace(
            self.base,
            slab_level_mm=-(typed.get("slab_down") or 0),
            gauge=_gauge(typed, self.base.gauge),
            unit=_unit(typed),
            brick_length_mm=typed.get("brick_length"),
            perpend=_perpend(typed, self.base.perpend),
            raked_mm=typed.get("raked"),
            courses_treated=typed.get("courses_treated"),
            surface=typed.get("surface") or self.base.surface,
            fall_mm=typed.get("fall"),
            finishes_to_come=tuple(
                FinishToCome(row["start"], row["end"], row["thickness"], row["surface"] or "paving")
                for row in self._whole("finishes")
            ),
            joints=tuple(
                Joint(
                    row["at"],
                    row["width"],
                    row["depth"] or 110,
                    row["height"],
                    row["kind"] or "articulation",
                )
                for row in self._whole("joints")
            ),
            attachments=tuple(
                Attachment(row["at"], row["gap"], row["label"])
                for row in self._whole("attachments")
            ),
            openings=(),
            bed_joint_mm=None,
            brick_bottom_mm=None,
            ground_today=(),
            ground_finished=None,
            struck_steps=(),
            struck_joint_mm=None,
            weep_holes=(),
        )
        run = self._with_openings(_with_brick(run, typed))
        run = self._with_ground(run, typed.get("ground_from") or "slab")
        return self._with_weeps(self._with_struck(run, typed), typed.get("weep_from"))

    def _whole(self, name: str) -> list[dict]:
        """The rows of a list that can be used, in order."""
        self.rows[name].is_valid()
        return [row.cleaned_data for row in self.rows[name].forms if row.is_complete]

    def _along_the_wall(self, name: str) -> list[dict]:
        """Those rows by their distance: a point between the two ends is typed below them."""
        return sorted(self._whole(name), key=lambda row: row["at"])

    def _with_ground(self, run: PlainRun, measured_from: str) -> PlainRun:
        try:
            today, finished = (
                tuple(
                    GroundPoint(row["at"], level_mm(run, row["mm"], measured_from, self.values))
                    for row in self._along_the_wall(name)
                )
                for name in ("ground", "finished")
            )
        except EntryError as error:
            self.problems.append(TypedProblem(refusals.length(error), "ground"))
            return run
        return replace(run, ground_today=today, ground_finished=finished or None)

    def _with_openings(self, run: PlainRun) -> PlainRun:
        openings = tuple(
            Opening(
                row["start"],
                row["end"],
                row["label"],
                _under_slab(run, row["threshold"]),
                {NO_WALL_BELOW: False, WALL_BELOW: True}.get(row["below"]),
            )
            for row in self._whole("openings")
        )
        return replace(run, openings=openings)

    def _with_struck(self, run: PlainRun, typed: dict) -> PlainRun:
        if not run.is_rendered:
            return run
        level = self._level(run, typed.get("struck_joint"), typed.get("struck_from"), "brick")
        steps = tuple(
            StruckStep(row["at"], run.slab_level_mm - row["mm"])
            for row in self._along_the_wall("struck")
        )
        return replace(run, struck_joint_mm=level, struck_steps=steps)

    def _with_weeps(self, run: PlainRun, measured_from: str | None) -> PlainRun:
        try:
            rows = tuple(
                WeepHoles(
                    level_mm(run, row["mm"], measured_from or "slab", self.values),
                    row["spacing"],
                    row["places"],
                    row["start"] or 0,
                    row["end"],
                )
                for row in self._whole("weeps")
            )
        except EntryError as error:
            self.problems.append(TypedProblem(refusals.length(error), "weeps"))
            return run
        return replace(run, weep_holes=rows)

    def _level(self, run: PlainRun, measured_mm, measured_from, section: str) -> int | None:
        if measured_mm is None or not measured_from:
            return None
        try:
            return level_mm(run, measured_mm, measured_from, self.values)
        except EntryError as error:
            self.problems.append(TypedProblem(refusals.length(error), section))
            return None


def section_of(problem: Unbelievable) -> str:
    """The part of the page where a number that can't be believed was typed."""
    return SECTIONS.get(problem.field, "brick")


def _suggested(run: PlainRun, like: PlainRun) -> PlainRun:
    """A run with what a measured wall of the same house suggests."""
    taken = {name: getattr(like, name) for name in SAME_ALL_ROUND}
    taken["weep_holes"] = tuple(
        WeepHoles(row.level_mm, row.spacing_mm) for row in like.weep_holes[:1]
    )
    return replace(run, **taken)


def _gauge(typed: dict, stored: Gauge | None) -> Gauge | None:
    """The gauge that was typed; else nothing, or one stored before that may have been measured."""
    courses, height = typed.get("gauge_courses"), typed.get("gauge_height")
    if courses is not None and height is not None:
        same = stored is not None and (stored.courses, stored.height_mm) == (courses, height)
        return Gauge(courses, height, from_photo=same and stored.from_photo)
    return stored if stored is not None and stored.measured is None else None


def _unit(typed: dict) -> Unit | None:
    """The unit that was chosen, or its sizes where it is another."""
    chosen = typed.get("unit") or ""
    if chosen != OWN_UNIT:
        return UNIT_OF.get(chosen)
    height, length, joint = (typed.get(f"unit_{part}") for part in ("height", "length", "joint"))
    if height is None or length is None:
        return None
    return Unit(height, length) if joint is None else Unit(height, length, joint)


def _perpend(typed: dict, stored: Perpend | None) -> Perpend | None:
    """In the course above the measured bed joint, unless another course was stored."""
    at_mm = typed.get("perpend")
    if at_mm is None:
        return None
    return Perpend(stored.above_bed_joint if stored else 0, at_mm)


def _with_brick(run: PlainRun, typed: dict) -> PlainRun:
    """The levels of the brickwork itself, measured down from the top of the wall's slab."""
    return replace(
        run,
        bed_joint_mm=_under_slab(run, typed.get("bed_joint")),
        brick_bottom_mm=_under_slab(run, typed.get("brick_bottom")),
    )


def _under_slab(run: PlainRun, down_mm: int | None) -> int | None:
    return None if down_mm is None else run.slab_level_mm - down_mm
