"""The lists of words that items, trades, walls and states are described with."""

from dataclasses import dataclass

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
