"""The one clock of the actions, so that a scenario or a test can say what time it is.

Only code that has to place events in time reads it; everything it returns is an aware UTC time.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

_fixed: ContextVar[datetime | None] = ContextVar("fixed_time", default=None)


def now() -> datetime:
    """Return the current time, in UTC."""
    return _fixed.get() or datetime.now(UTC)


@contextmanager
def at(moment: datetime) -> Iterator[None]:
    """Let `now()` answer `moment` (aware) inside the block.

    Raises ValueError for a time without a zone: a record must never guess one.
    """
    if moment.tzinfo is None:
        raise ValueError("Give the time with its zone.")
    token = _fixed.set(moment.astimezone(UTC))
    try:
        yield
    finally:
        _fixed.reset(token)
