"""The JSON that a script of ours sends, read so that nothing in it can trip what comes after."""

import json

from django.http import RawPostDataException

from portal.requests.readable_text import one_line

DEEPEST = 12
LONGEST_NUMBER = 20
UNREADABLE = "What was sent could not be read. Load the page again and try once more."


class UnreadableBody(Exception):
    """A body that is not the small JSON object that was asked for; the text says so in words."""


def json_object(request, most_bytes: int) -> dict:
    """The request's JSON object. Raises UnreadableBody for anything else.

    Refused are more bytes than asked for, deep nesting, numbers without end, and characters that
    no database keeps (NUL, half of a pair). Control characters go from its texts, of which each is
    one line.
    """
    try:
        body = request.body
    except RawPostDataException as error:  # a form was sent
        raise UnreadableBody(UNREADABLE) from error
    if len(body) > most_bytes:
        raise UnreadableBody("That is too much for one photo. Remove some of it.")
    return object_from(body)


def object_from(text: str | bytes) -> dict:
    """The JSON object that a text is, with what `json_object` refuses refused."""
    try:
        data = json.loads(text, parse_int=_whole, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise UnreadableBody(UNREADABLE) from error
    if not isinstance(data, dict) or not _fits(data):
        raise UnreadableBody(UNREADABLE)
    return _readable(data)


def _readable(part):
    if isinstance(part, dict):
        return {key: _readable(inner) for key, inner in part.items()}
    if isinstance(part, list):
        return [_readable(inner) for inner in part]
    return one_line(part) if isinstance(part, str) else part


def _whole(digits: str) -> int:
    if len(digits) > LONGEST_NUMBER:
        raise ValueError("A number has too many digits.")
    return int(digits)


def _no_number(name: str):
    raise ValueError(f"{name} is no number.")


def _fits(data) -> bool:
    """Whether it is nested a few levels deep and all of its text can be kept."""
    level = [data]
    for _ in range(DEEPEST):
        if not level:
            return True
        if not all(_can_be_kept(part) for part in level):
            return False
        level = [inner for part in level for inner in _inside(part)]
    return not level


def _inside(part):
    if isinstance(part, dict):
        return [*part.keys(), *part.values()]
    return part if isinstance(part, list) else ()


def _can_be_kept(part) -> bool:
    if not isinstance(part, str):
        return True
    return "\x00" not in part and not any("\ud800" <= letter <= "\udfff" for letter in part)
