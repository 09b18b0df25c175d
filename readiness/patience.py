"""How long to wait for the store of photos and papers, depending on who waits."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from enum import Enum


class Patience(Enum):
    """Who waits for an answer of the object store."""

    PAGE = "page"
    """A page full of pictures: show something else at once rather than hold the server."""
    PERSON = "person"
    """Somebody who sent or fetches one thing."""
    WORKER = "worker"
    """Background work: tries again, and asks a store that others have given up on."""


_now: ContextVar[Patience] = ContextVar("patience", default=Patience.PERSON)


def current() -> Patience:
    return _now.get()


@contextmanager
def patience(who: Patience) -> Iterator[None]:
    """Wait as long as that in this block."""
    token = _now.set(who)
    try:
        yield
    finally:
        _now.reset(token)
