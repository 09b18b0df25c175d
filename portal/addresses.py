"""Addresses of pages about a thing, by its id: what a page writes out most, and so made quickly.

Django's `reverse` tries patterns and their converters at each call, about 30 µs; a page with 60
items needs 400 addresses. Those of one view differ only by the ids in them, so the place of each id
is found once.
"""

from functools import lru_cache
from uuid import UUID

from django.conf import settings
from django.urls import NoReverseMatch, get_script_prefix, get_urlconf, reverse

STAND_INS = [UUID(int=(0xA11 << 116) + number) for number in range(4)]


def address(name: str, *given: UUID | str) -> str:
    """What `reverse(name, args=given)` gives; texts are words of the address, such as a size."""
    words = tuple(None if isinstance(one, UUID) else one for one in given)
    shape = _shape(name, words, get_urlconf() or settings.ROOT_URLCONF, get_script_prefix())
    if shape is None:
        return reverse(name, args=given)
    ids = [str(one) for one in given if isinstance(one, UUID)]
    return "".join(before + one for before, one in zip(shape, ids, strict=False)) + shape[-1]


@lru_cache(maxsize=1000)
def _shape(
    name: str, words: tuple[str | None, ...], urlconf: str, prefix: str
) -> tuple[str, ...] | None:
    """What stands before, between and after the ids; None where they don't stand as they are."""
    stand_ins = iter(STAND_INS)
    given = [next(stand_ins) if word is None else word for word in words]
    try:
        left = reverse(name, urlconf=urlconf, args=given)
    except NoReverseMatch:
        return None
    parts = []
    for one in given:
        if isinstance(one, UUID):
            before, found, left = left.partition(str(one))
            if not found or str(one) in left:
                return None
            parts.append(before)
    return (*parts, left)
