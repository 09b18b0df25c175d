"""What the digest of a row is made of: its name and its leaves. Standard library only.

A form has a leaf for each covered column. Codes, ids, numbers and times are their own leaves. Of
what people typed, of names and places, the leaf is HMAC-SHA-256 (RFC 2104) of the value as JSON,
under a key made from the row's salt and the column's name: who has the salt can check a value,
who has not can't guess one. The digest is SHA-256 (FIPS 180-4) of the row's name and its leaves.
"""

import hashlib
import hmac
from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from readiness.canonical import canonical

HIDDEN = "hmac:"
"""What a leaf begins with that is not the value itself."""


def digest_of(row: str, leaves: dict[str, Any]) -> str:
    """SHA-256, in hex, of a row's name and leaves as `[name, leaves]` in canonical JSON."""
    return hashlib.sha256(canonical([row, leaves])).hexdigest()


def column_key(salt: str, column: str) -> bytes:
    """The key of one column's leaf: can be handed out without those of the others."""
    return hmac.digest(bytes.fromhex(salt), column.encode(), "sha256")


def leaf_of(key: bytes, value: Any) -> Any:
    """The leaf of what is not to be read from it. That nothing is there may be seen."""
    if value is None or value == "":
        return value
    return HIDDEN + hmac.digest(key, canonical(plain(value)), "sha256").hex()


def plain(value: Any) -> Any:
    """A value as JSON has it: times in UTC to the microsecond, numbers with decimals as text."""
    return _PLAIN.get(type(value), str)(value)


def _as_it_is(value: Any) -> Any:
    return value


_PLAIN: dict[type, Callable[[Any], Any]] = {
    **dict.fromkeys((type(None), bool, int, float, list, dict, str), _as_it_is),
    datetime: lambda value: value.isoformat(timespec="microseconds"),
    date: date.isoformat,
}
