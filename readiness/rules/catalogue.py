"""The catalogue of what can be found on a wall, and the lists of words that go with it.

Adding a kind of defect is adding one entry to `_ENTRIES` (and its drawing, under the same slug, in
`readiness/papers/drawings/kinds.py`). Everything else follows from the entry: buttons, forms,
checks of the measurement, required fix, usual trade, due date and time cost.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from readiness.rules.words import amount, metres, sentence, where

if TYPE_CHECKING:
    from readiness.rules.values import RuleValues

HOLDS = "holds"
APPLICATOR = "applicator"
RECORD = "record"

EFFECTS: dict[str, str] = {
    HOLDS: "Holds the booking",
    APPLICATOR: "Applicator will do it",
    RECORD: "Record only",
}

TO_FIX = "to_fix"
SAID_FIXED = "said_fixed"
ACCEPTED = "accepted"
SENT_BACK = "sent_back"

ITEM_STATES: dict[str, str] = {
    TO_FIX: "To fix",
    SAID_FIXED: "Said fixed",
    ACCEPTED: "Accepted",
    SENT_BACK: "Sent back",
}

TRADES: dict[str, str] = {
    "bricklayer": "Bricklayer",
    "renderer": "Renderer",
    "earthworks": "Earthworks and landscaping",
    "paving": "Paving and concrete",
    "sealing": "Caulking and sealing",
    "plumber": "Plumber",
    "electrician": "Electrician",
    "carpenter": "Carpenter",
    "painter": "Painter",
    "cleaner": "Site cleaner or labourer",
    "builder": "Builder",
    "applicator": "Applicator",
}

FINISHES: dict[str, str] = {
    "face_brick": "Face brick",
    "render": "Render",
    "bagged": "Bagged or painted brick",
    "block": "Blockwork",
    "other": "Other",
}

# What the ground is, or will be, made of beside the wall.
SURFACES: dict[str, str] = {
    "soil": "Soil or garden bed",
    "sandy": "Sandy, well-drained ground",
    "paving": "Paving or concrete that falls away",
    "lawn": "Lawn or topsoil",
    "gravel": "Gravel",
}


@dataclass(frozen=True)
class State:
    """An Australian state or territory: its code, name and time zone (IANA)."""

    code: str
    name: str
    zone: str


STATES: dict[str, State] = {
    state.code: state
    for state in (
        State("ACT", "Australian Capital Territory", "Australia/Sydney"),
        State("NSW", "New South Wales", "Australia/Sydney"),
        State("NT", "Northern Territory", "Australia/Darwin"),
        State("QLD", "Queensland", "Australia/Brisbane"),
        State("SA", "South Australia", "Australia/Adelaide"),
        State("TAS", "Tasmania", "Australia/Hobart"),
        State("VIC", "Victoria", "Australia/Melbourne"),
        State("WA", "Western Australia", "Australia/Perth"),
    )
}

AT_LEAST = "at_least"
AT_MOST = "at_most"
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

    `fix` is the required fix with no number in it; `fix_measured` is used when there is a
    measurement that breaks the rule, and may say {found}, {needed}, {difference} (each with its
    unit). Both may say {where} ("from 2.4 m to 5.1 m", or nothing).
    """

    slug: str
    name: str
    prompt: str
    look_for: str
    fix: str
    trade: str
    minutes: int
    fix_measured: str = ""
    measurement: Measurement | None = None
    measurement_required: bool = False
    effect: str = HOLDS
    working_days: int = 3
    has_extent: bool = True
    needs_photo: bool = True
    drawing: str = ""

    @property
    def drawing_key(self) -> str:
        """The name of the kind's symbol in the drawings."""
        return self.drawing or self.slug

    def required_fix(
        self,
        values: RuleValues,
        *,
        measured: int | Decimal | None = None,
        from_mm: int | None = None,
        to_mm: int | None = None,
    ) -> str:
        """The required fix in plain words, with the millimetres filled in where they are known."""
        check = check_measurement(self, measured, values)
        blanks = {"found": "", "needed": "", "difference": "", "where": where(from_mm, to_mm)}
        blanks["needed"] = check.needed_words if check else self._needed(values)
        if check and not check.ok and self.fix_measured:
            blanks |= {"found": check.found_words, "difference": check.difference_words}
            text = self.fix_measured
        else:
            text = self.fix
        return sentence(
            " ".join(text.format(**blanks).split()).replace(" ,", ",").replace(" .", ".")
        )

    def _needed(self, values: RuleValues) -> str:
        spec = self.measurement
        return amount(values[spec.rule_key], spec.unit) if spec and spec.rule_key else ""


@dataclass(frozen=True)
class MeasurementCheck:
    """A measured value held against its rule. `believable` is False outside the tape's range."""

    ok: bool
    believable: bool
    found: int | Decimal
    needed: int | Decimal | None
    difference: int | Decimal
    unit: str
    rule_key: str | None
    rule_label: str
    source: str
    sentence: str

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
    kind: DefectKind, measured: int | Decimal | None, values: RuleValues
) -> MeasurementCheck | None:
    """Hold a measurement against the rule of its kind; None if there is nothing to hold.

    A value outside the believable range comes back with `believable` False and a sentence that
    says what would be believable; a value that meets the rule comes back with `ok` True.
    """
    spec = kind.measurement
    if spec is None or measured is None:
        return None
    rule = values.rule(spec.rule_key) if spec.rule_key else None
    needed = values[spec.rule_key] if spec.rule_key else None
    label, source = (rule.label, rule.source_words) if rule else ("", "")
    common = {
        "found": measured, "needed": needed, "unit": spec.unit,
        "rule_key": spec.rule_key, "rule_label": label, "source": source,
    }  # fmt: skip
    found_words = amount(measured, spec.unit)
    if not spec.minimum <= measured <= spec.maximum:
        low, high = amount(spec.minimum, spec.unit), amount(spec.maximum, spec.unit)
        text = f"{spec.label}: {found_words} is hard to believe. Between {low} and {high} would be."
        return MeasurementCheck(ok=False, believable=False, difference=0, sentence=text, **common)
    if needed is None:
        text = f"{spec.label}: {found_words}."
        return MeasurementCheck(ok=True, believable=True, difference=0, sentence=text, **common)
    short = needed - measured if spec.comparison == AT_LEAST else measured - needed
    ok, bound = short <= 0, "at least" if spec.comparison == AT_LEAST else "at most"
    gap = max(short, type(short)(0))
    verdict = "meets the rule" if ok else (
        f"{amount(gap, spec.unit)} too {'little' if spec.comparison == AT_LEAST else 'much'}"
    )  # fmt: skip
    text = (
        f"{spec.label}: {found_words} found, {bound} {amount(needed, spec.unit)} needed: {verdict}."
    )
    return MeasurementCheck(ok=ok, believable=True, difference=gap, sentence=text, **common)


_ENTRIES = (
    DefectKind(
        slug="unfilled_joint",
        name="Unfilled mortar joint",
        prompt="Mortar missing",
        look_for="Holes, missing or loose mortar in a bed joint or perpend inside the band to be "
        "treated. Push a screwdriver in: it should stop at the face.",
        fix="Rake out loose mortar and fill the joints solid to the face {where}, then brush off.",
        fix_measured="The joint is open {found} deep. Rake out loose mortar, fill it solid to the "
        "face {where}, then brush off.",
        measurement=Measurement(
            "Depth of the hole",
            "mm",
            1,
            230,
            "unfilled_depth_max_mm",
            AT_MOST,
            "From the face of the brick to where the mortar starts.",
        ),
        trade="bricklayer",
        minutes=15,
        working_days=3,
    ),
    DefectKind(
        slug="gap_too_wide",
        name="Gap too wide for sealant",
        prompt="Gap too wide",
        look_for="A gap beside a frame, pipe or joint that is wider than sealant over a backing "
        "rod can bridge.",
        fix="Fill the gap with mortar {where} so that no more than {needed} is left to seal.",
        fix_measured="The gap is {found} wide, {difference} more than sealant can take. Fill it "
        "with mortar {where} so that no more than {needed} is left.",
        measurement=Measurement(
            "Width of the gap",
            "mm",
            1,
            300,
            "sealant_width_max_mm",
            AT_MOST,
            "At the widest place.",
        ),
        measurement_required=True,
        trade="bricklayer",
        minutes=20,
        working_days=3,
    ),
    DefectKind(
        slug="articulation_unsealed",
        name="Articulation joint not sealed",
        prompt="Joint not sealed",
        look_for="An articulation (expansion) joint with no backing rod and sealant up to the "
        "height of the treatment.",
        fix="Clean the joint out, press in backing rod and seal it with flexible sealant {where}, "
        "from below finished ground to the top of the treated band.",
        fix_measured="The joint is {found} wide, more than sealant can take ({needed}). Ask us "
        "before filling it {where}: the joint must still be able to move.",
        measurement=Measurement(
            "Width of the joint",
            "mm",
            1,
            100,
            "sealant_width_max_mm",
            AT_MOST,
            "At the widest place in the band to be treated.",
        ),
        trade="sealing",
        minutes=20,
        working_days=3,
        has_extent=False,
    ),
    DefectKind(
        slug="tight_crack",
        name="Tight crack not sealed",
        prompt="Tight crack",
        look_for="A crack too tight for backing rod: beside a frame, at a step, or along a joint.",
        fix="Brush the crack clean and seal it with flexible sealant {where}. No backing rod is "
        "needed.",
        fix_measured="The crack is {found} wide: too wide for sealant alone (up to {needed}). "
        "Press in backing rod, then seal it {where}.",
        measurement=Measurement(
            "Width of the crack",
            "mm",
            1,
            50,
            "crack_sealant_alone_max_mm",
            AT_MOST,
            "At the widest place.",
        ),
        trade="sealing",
        minutes=10,
        working_days=2,
    ),
    DefectKind(
        slug="soil_against_brick",
        name="Soil against brick",
        prompt="Soil on the wall",
        look_for="Soil, sand, rubble or mulch heaped against the brick, over the band to be "
        "treated or over the weep holes.",
        fix="Take the soil away from the brick {where}, down to finished ground level, and brush "
        "the brick clean and dry.",
        fix_measured="Soil lies {found} up the brick. Take it away {where}, down to finished "
        "ground level, and brush the brick clean and dry.",
        measurement=Measurement(
            "Height of the soil on the brick",
            "mm",
            1,
            2000,
            "soil_on_brick_max_mm",
            AT_MOST,
            "From finished ground level up to the top of the heap.",
        ),
        trade="earthworks",
        minutes=30,
        working_days=2,
    ),
    DefectKind(
        slug="ground_too_high",
        name="Ground or paving too high",
        prompt="Ground too high",
        look_for="Ground or paving that leaves too little wall between it and the line or the "
        "weep holes. Think of paving and topsoil still to come.",
        fix="Lower the ground or paving {where} so that at least {needed} of clear wall is left "
        "under the treatment line.",
        fix_measured="Only {found} of clear wall is left. Lower the ground or paving by "
        "{difference} {where}, so that there is at least {needed}.",
        measurement=Measurement(
            "Clear wall under the line",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "From finished ground or paving up to the highest joint that can be used.",
        ),
        measurement_required=True,
        trade="earthworks",
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="render_line_low",
        name="Render line too low",
        prompt="Render line low",
        look_for="The struck joint in the render is too close to finished ground.",
        fix="Cut the struck joint higher {where}, so that it is at least {needed} above finished "
        "ground.",
        fix_measured="The struck joint is {found} above finished ground. Raise it by {difference} "
        "{where}, or lower the ground by the same, so that there is at least {needed}.",
        measurement=Measurement(
            "Height of the struck joint above finished ground",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "At the lowest place.",
        ),
        measurement_required=True,
        trade="renderer",
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="no_struck_joint",
        name="No struck joint in render",
        prompt="No render line",
        look_for="Render runs into the ground with no joint struck in it to end the treatment at.",
        fix="Cut a struck joint through the render {where}, at least {needed} above finished "
        "ground, straight and level, and brush it clean.",
        measurement=Measurement(
            "Height wanted above finished ground",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "If you have agreed on one.",
        ),
        trade="renderer",
        minutes=90,
        working_days=4,
    ),
    DefectKind(
        slug="weep_hole_blocked",
        name="Weep hole blocked",
        prompt="Weep hole blocked",
        look_for="A weep hole filled with mortar, render, foam, sealant or soil.",
        fix="Clear the weep hole {where} right through to the cavity, without damage to the "
        "flashing.",
        trade="bricklayer",
        minutes=5,
        working_days=2,
    ),
    DefectKind(
        slug="weep_hole_low",
        name="Weep hole too low",
        prompt="Weep hole low",
        look_for="A weep hole at or under the treatment line, or closer to finished ground than "
        "the line must be.",
        fix="Lower the ground {where} so that the weep hole is at least {needed} above it, or ask "
        "us before you change the weep holes.",
        fix_measured="The weep hole is {found} above finished ground. Lower the ground by "
        "{difference} {where}, so that there is at least {needed}; ask us before you change the "
        "weep holes.",
        measurement=Measurement(
            "Underside of the weep hole above finished ground",
            "mm",
            0,
            2000,
            "line_above_ground_mm",
            AT_LEAST,
            "At the lowest weep hole.",
        ),
        measurement_required=True,
        trade="earthworks",
        minutes=60,
        working_days=4,
    ),
    DefectKind(
        slug="mortar_drop",
        name="Mortar drop",
        prompt="Mortar drop",
        look_for="Mortar dropped on the footing, the slab edge or the brick, where it makes a "
        "bridge or covers a joint.",
        fix="Chip the dropped mortar off {where} and brush the brick and joint clean.",
        trade="bricklayer",
        minutes=10,
        working_days=2,
    ),
    DefectKind(
        slug="dirty_brick",
        name="Dirty brick",
        prompt="Dirty brick",
        look_for="Mortar smears, mud, dust or paint on the band to be treated. Wipe it with a dry "
        "glove: if dirt comes off, so will the treatment.",
        fix="Brush or wash the brick clean {where} and let it dry before the treatment.",
        trade="cleaner",
        minutes=20,
        working_days=2,
    ),
    DefectKind(
        slug="wet_brick",
        name="Wet brick",
        prompt="Wet brick",
        look_for="Brick or joints that are wet to the touch or darker than the dry wall above.",
        fix="Keep water off the wall {where} and let it dry. Find and stop what wets it "
        "(hose, downpipe, sprinkler).",
        trade="builder",
        minutes=0,
        working_days=2,
    ),
    DefectKind(
        slug="tap_splashes",
        name="Splashes at the tap",
        prompt="Splashes at tap",
        look_for="Mortar, paint or mud splashed on the wall beside the outdoor tap, where trades "
        "wash their tools.",
        fix="Clean the wall beside the tap {where}, let it dry, and keep trades from washing tools "
        "there until the treatment is done.",
        trade="cleaner",
        minutes=20,
        working_days=1,
    ),
    DefectKind(
        slug="timber_against_wall",
        name="Timber or formwork against the wall",
        prompt="Timber on wall",
        look_for="Formwork, pegs, pallets, offcuts or stored timber left against the wall or "
        "buried beside it.",
        fix="Take all timber and formwork away from the wall {where}, pegs and offcuts in the "
        "ground as well.",
        trade="carpenter",
        minutes=20,
        working_days=2,
    ),
    DefectKind(
        slug="attachment_too_close",
        name="Attachment too close to the wall",
        prompt="Attachment close",
        look_for="A post, step, deck, fence, tank, air-conditioner base or meter box without a "
        "clear gap to the wall.",
        fix="Move it {where} so that a clear gap of at least {needed} is left to the wall.",
        fix_measured="The clear gap is {found}. Move it {difference} further from the wall "
        "{where}, so that there is at least {needed}.",
        measurement=Measurement(
            "Clear gap to the wall",
            "mm",
            0,
            1000,
            "attachment_gap_mm",
            AT_LEAST,
            "At the closest place.",
        ),
        measurement_required=True,
        trade="builder",
        minutes=45,
        working_days=4,
    ),
    DefectKind(
        slug="access_blocked",
        name="Access blocked",
        prompt="Can't get there",
        look_for="Scaffold, stacks, bins, machines or fences that keep a person with a sprayer "
        "from the wall.",
        fix="Clear the way {where}: a strip about 1 m wide along the wall, safe to walk on.",
        trade="builder",
        minutes=30,
        working_days=1,
    ),
    DefectKind(
        slug="other",
        name="Something else",
        prompt="Something else",
        look_for="Anything that is not in the list. Say what it is and what must be done.",
        fix="",
        trade="builder",
        minutes=15,
        working_days=3,
    ),
)

KINDS: dict[str, DefectKind] = {kind.slug: kind for kind in _ENTRIES}


def get_kind(slug: str) -> DefectKind:
    """The catalogue's entry; KeyError with the known slugs if there is none."""
    try:
        return KINDS[slug]
    except KeyError:
        raise KeyError(f"No kind of defect {slug!r}. Known: {', '.join(KINDS)}") from None


def choices(words: dict[str, str]) -> list[tuple[str, str]]:
    """A dictionary of slug to words, as the pairs that a form wants."""
    return list(words.items())


def kind_choices() -> list[tuple[str, str]]:
    """All kinds as (slug, name)."""
    return [(kind.slug, kind.name) for kind in KINDS.values()]


def place(run_label: str, from_mm: int | None, to_mm: int | None) -> str:
    """Where an item is, in words: "North wall, from 2.4 m to 5.1 m (2.7 m)"."""
    at = where(from_mm, to_mm)
    if not at:
        return run_label
    has_length = from_mm is not None and to_mm is not None and to_mm > from_mm
    return f"{run_label}, {at} ({metres(to_mm - from_mm)})" if has_length else f"{run_label}, {at}"
