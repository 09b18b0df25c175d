"""What is read once a request or task: the business and its rule values.

Outside of one (a command, a shell, another thread) each call reads. What is kept belongs to one
context, so no other request sees it, and is gone at its end. A save of the business ends keeping:
whether that save is committed in the end nobody knows here, so from then on each call reads again.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

Thing = TypeVar("Thing")

_kept: ContextVar[dict[str, Any] | None] = ContextVar("read_once", default=None)
_SAVED = "saved"


@contextmanager
def reading_once() -> Iterator[None]:
    """Keep what is read inside; within another such block it is that one's."""
    if _kept.get() is not None:
        yield
        return
    token = _kept.set({})
    try:
        yield
    finally:
        _kept.reset(token)


@contextmanager
def reading_anew() -> Iterator[None]:
    """Read inside as if nothing was kept, and keep nothing of it.

    For what is stored from it and has to follow a change that was committed meanwhile.
    """
    token = _kept.set(None)
    try:
        yield
    finally:
        _kept.reset(token)


def once(name: str, read: Callable[[], Thing]) -> Thing:
    """What `read()` gives: read now, or as it was read before in this request or task."""
    kept = _kept.get()
    if kept is None or _SAVED in kept:
        return read()
    if name not in kept:
        kept[name] = read()
    return kept[name]


def saved() -> None:
    """Something of it is being saved: keep nothing in this request or task from now on."""
    kept = _kept.get()
    if kept is not None:
        kept.clear()
        kept[_SAVED] = True
