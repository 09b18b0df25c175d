"""What items, trades, visits, walls and sites are described with: one enumeration for each.

Their codes are stored, hashed and kept in snapshots: they never change. Words and names may.
"""

from dataclasses import dataclass
from enum import StrEnum


class Effect(StrEnum):
    """What an item does to the booking."""

    HOLDS = "holds"
    ON_THE_DAY = "applicator"
    RECORD = "record"


EFFECTS: dict[str, str] = {
    Effect.HOLDS.value: "Must be fixed before we can book",
    Effect.ON_THE_DAY.value: "Applicator will do it",
    Effect.RECORD.value: "Record only",
}


class ItemState(StrEnum):
    """How an item stands that is not only kept on record."""

    TO_FIX = "to_fix"
    REPORTED_FIXED = "said_fixed"
    ACCEPTED = "accepted"
    SENT_BACK = "sent_back"


TO_DO = (ItemState.TO_FIX, ItemState.SENT_BACK)
OPEN_STATES = (ItemState.TO_FIX, ItemState.REPORTED_FIXED, ItemState.SENT_BACK)
"""Somebody has to fix it; it is not accepted yet."""

ITEM_STATES: dict[str, str] = {
    ItemState.TO_FIX.value: "To fix",
    ItemState.REPORTED_FIXED.value: "Reported fixed",
    ItemState.ACCEPTED.value: "Accepted",
    ItemState.SENT_BACK.value: "Sent back",
}


class BookingState(StrEnum):
    """How a booking stands; the last three end it."""

    ASKED = "asked"
    OFFERED = "offered"
    CONFIRMED = "confirmed"
    TREATED = "treated"
    TURNED_AWAY = "turned_away"
    CANCELLED = "cancelled"


class Half(StrEnum):
    """The half of a day that a crew comes in."""

    MORNING = "morning"
    AFTERNOON = "afternoon"


class PutOffCause(StrEnum):
    """Why a booked day is put off."""

    RAIN = "rain"
    WIND = "wind"
    OURS = "ours"
    BUILDER = "builder"


class Readiness(StrEnum):
    """Whether a site, or a wall, is ready; `OUT_OF_REACH` is of a wall that nobody can reach."""

    READY = "ready"
    NOT_READY = "not_ready"
    NOT_KNOWN = "not_known"
    TREATED = "treated"
    OUT_OF_REACH = "out_of_reach"


class ReferralKind(StrEnum):
    """What is found on a site and only a licensed technician decides."""

    LIVE_TERMITES = "live_termites"
    NO_ACCESS = "no_access"


class NoAccess(StrEnum):
    """Why nobody can reach a wall."""

    BOUNDARY = "boundary"
    HIDDEN = "hidden"


class Outcome(StrEnum):
    """What the technician decided: the first three of live termites, the others of a wall."""

    TREATED_SEPARATELY = "treated_separately"
    NOT_TERMITES = "not_termites"
    STAYS_CLOSED = "stays_closed"
    NOT_TREATED = "not_treated"
    CAN_BE_REACHED = "can_be_reached"


OUTCOMES: dict[ReferralKind, tuple[Outcome, ...]] = {
    ReferralKind.LIVE_TERMITES: (
        Outcome.TREATED_SEPARATELY, Outcome.NOT_TERMITES, Outcome.STAYS_CLOSED,
    ),
    ReferralKind.NO_ACCESS: (Outcome.NOT_TREATED, Outcome.CAN_BE_REACHED),
}  # fmt: skip
"""By the kind of referral, what can be decided about it."""
GO_ON = (Outcome.TREATED_SEPARATELY, Outcome.NOT_TERMITES)
"""After these a site where live termites were found is open again; a further find is a new one."""


class Trade(StrEnum):
    """Who does the work, or acts next."""

    BRICKLAYER = "bricklayer"
    RENDERER = "renderer"
    EARTHWORKS = "earthworks"
    PAVING = "paving"
    SEALING = "sealing"
    PLUMBER = "plumber"
    ELECTRICIAN = "electrician"
    CARPENTER = "carpenter"
    PAINTER = "painter"
    CLEANER = "cleaner"
    BUILDER = "builder"
    APPLICATOR = "applicator"


TRADES: dict[str, str] = {
    Trade.BRICKLAYER.value: "Bricklayer",
    Trade.RENDERER.value: "Renderer",
    Trade.EARTHWORKS.value: "Earthworks and landscaping",
    Trade.PAVING.value: "Paving and concrete",
    Trade.SEALING.value: "Caulking and sealing",
    Trade.PLUMBER.value: "Plumber",
    Trade.ELECTRICIAN.value: "Electrician",
    Trade.CARPENTER.value: "Carpenter",
    Trade.PAINTER.value: "Painter",
    Trade.CLEANER.value: "Site cleaner or labourer",
    Trade.BUILDER.value: "Builder",
    Trade.APPLICATOR.value: "Applicator",
}


class Caution(StrEnum):
    """What is said with every fix of a kind: what must not be done, or can hurt.

    `readiness.wording.cautions` says each.
    """

    NO_MORTAR = "no_mortar"
    SILICA = "silica_dust"
    NO_ACID = "no_acid"
    ACID = "acid"
    WASHING = "pressure_washing"
    SEALANT = "sealant_and_solvent"
    SERVICES = "buried_services"
    INSTALLATIONS = "meters_and_gas"


class KindGroup(StrEnum):
    """Where a kind of defect stands in the list of all kinds."""

    JOINTS = "joints"
    GROUND = "ground"
    WEEPS = "weeps"
    RENDER = "render"
    SURFACE = "surface"
    BESIDE = "beside"
    SLAB = "slab"
    OTHER = "other"


KIND_GROUPS: dict[str, str] = {
    KindGroup.JOINTS.value: "Joints, gaps and cracks",
    KindGroup.GROUND.value: "Ground, paving and slabs",
    KindGroup.WEEPS.value: "Weep holes and cavity",
    KindGroup.RENDER.value: "Render",
    KindGroup.SURFACE.value: "Dirt, water and coatings",
    KindGroup.BESIDE.value: "Against the wall, access",
    KindGroup.SLAB.value: "Edge of the house slab",
    KindGroup.OTHER.value: "Not in this list",
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


SOIL_CLASSES: dict[str, str] = {
    code: f"Class {code}" for code in ("A", "S", "M", "H1", "H2", "E", "P")
}
"""How far the soil of a site moves, as the soil report or the plans say it."""

WITHOUT_ARTICULATION = ("A", "S")
"""Soil that hardly moves: brickwork on it needs no articulation joints."""
