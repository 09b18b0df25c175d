"""What of accounts and settings is told by e-mail at once."""

from enum import StrEnum, auto


class Change(StrEnum):
    """What an owner did that others have to know of at once."""

    OWNER = auto()
    NOT_OWNER = auto()
    SWITCHED_ON = auto()
    SWITCHED_OFF = auto()
    RIGHTS = auto()
    LICENCE = auto()
    SECOND_FACTOR_RESET = auto()
    REMOVED = auto()
    BUSINESS = auto()
    RULE_VALUES = auto()
    DAYS_OFF = auto()
