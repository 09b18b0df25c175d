"""Why something can't be done yet, and what is worth knowing: one code for each, and its sorts."""

from enum import StrEnum


class Code(StrEnum):
    """The code of a `Reason`. What it says to whom is `readiness.wording`'s."""

    # Nobody knows yet
    NO_RUNS = "no_runs"
    NO_REPORT = "no_report"
    RUN_UNCHECKED = "run_unchecked"
    # For a licensed technician to decide
    LIVE_TERMITES = "live_termites"
    SITE_STAYS_CLOSED = "site_stays_closed"
    ACCESS_UNDECIDED = "access_undecided"
    # Wrong on the walls
    ITEM_TO_FIX = "item_to_fix"
    ITEM_SENT_BACK = "item_sent_back"
    ITEM_DISPUTED = "item_disputed"
    WAITING_FOR_REVIEW = "waiting_for_review"
    # Time mends it
    DRYING = "drying"
    RAIN = "rain"
    # No readiness confirmation in force
    NOT_CONFIRMED = "not_confirmed"
    CONFIRMATION_WITHDRAWN = "confirmation_withdrawn"
    CONFIRMATION_SUPERSEDED = "confirmation_superseded"
    CONFIRMATION_NEW_ITEM = "confirmation_new_item"
    CONFIRMATION_EXPIRED = "confirmation_expired"
    RUN_UNTICKED = "run_unticked"
    TURNED_AWAY = "turned_away"
    # The day does not suit
    DATE_PAST = "date_past"
    DATE_TOO_LATE = "date_too_late"
    # Notes
    LEVELS_UNBELIEVABLE = "levels_unbelievable"
    NO_LEVELS = "no_levels"
    NO_STRUCK_JOINT = "no_struck_joint"
    LEVELS_SHORT = "levels_short"
    LEVELS_TO_DECIDE = "levels_to_decide"
    SOIL_TO_CLEAR = "soil_to_clear"
    BARE_BRICK = "bare_brick"
    BRICKWORK_BOTTOM_UNKNOWN = "brickwork_bottom_unknown"
    APPLICATOR_WILL_DO = "applicator_will_do"

    @property
    def is_to_do(self) -> bool:
        """Somebody on the builder's side has to fix it."""
        return self in _TO_DO

    @property
    def is_about_item(self) -> bool:
        """It is an item that holds the booking, whoever acts next."""
        return self in _TO_DO or self in (Code.WAITING_FOR_REVIEW, Code.ITEM_DISPUTED)

    @property
    def has_lapsed(self) -> bool:
        """There was a readiness confirmation, and it counts no more."""
        return self in _LAPSED

    @property
    def asks_to_confirm(self) -> bool:
        """Confirming readiness (again) settles it."""
        return self in _LAPSED or self in _UNCONFIRMED

    @property
    def is_about_day(self) -> bool:
        """Another day settles it."""
        return self in (Code.DATE_PAST, Code.DATE_TOO_LATE)

    @property
    def is_about_termites(self) -> bool:
        """Live termites keep the site closed: no day is offered, and the builder does nothing."""
        return self in _TERMITES

    @property
    def is_for_technician(self) -> bool:
        """Only a licensed technician's decision settles it."""
        return self in _TERMITES or self is Code.ACCESS_UNDECIDED

    @property
    def questions_levels(self) -> bool:
        """By the levels of a wall something is not right there."""
        return self in _LEVEL_QUESTIONS


_TO_DO = frozenset({Code.ITEM_TO_FIX, Code.ITEM_SENT_BACK})
_LAPSED = frozenset(
    {
        Code.CONFIRMATION_WITHDRAWN,
        Code.CONFIRMATION_SUPERSEDED,
        Code.CONFIRMATION_NEW_ITEM,
        Code.CONFIRMATION_EXPIRED,
    }
)
_UNCONFIRMED = frozenset({Code.NOT_CONFIRMED, Code.RUN_UNTICKED, Code.TURNED_AWAY})
_TERMITES = frozenset({Code.LIVE_TERMITES, Code.SITE_STAYS_CLOSED})
_LEVEL_QUESTIONS = frozenset(
    {
        Code.LEVELS_SHORT,
        Code.LEVELS_TO_DECIDE,
        Code.SOIL_TO_CLEAR,
        Code.NO_STRUCK_JOINT,
        Code.LEVELS_UNBELIEVABLE,
    }
)
