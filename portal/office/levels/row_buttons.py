"""The buttons that add blank rows to a list of the form, or take one out."""

from __future__ import annotations

from django.http import QueryDict

from portal.office.levels.forms import MOST_ROWS, ROWS

BLANK_ROWS = 2
MORE, REMOVE = "more", "remove"
"""Buttons that only change the rows of a list: nothing is saved yet."""


def with_rows_changed(data: QueryDict) -> QueryDict:
    """What was typed, with blank rows added to one list, or without one of its rows."""
    name, _, number = data.get(REMOVE, data.get(MORE, "")).partition("-")
    if name not in ROWS:
        return data
    data, total = data.copy(), f"{name}-TOTAL_FORMS"
    typed = str(data.get(total, ""))
    count = min(int(typed), MOST_ROWS) if typed.isdecimal() else 0
    if REMOVE not in data:
        data[total] = str(count + BLANK_ROWS)
    elif number.isdecimal() and int(number) < count:
        _take_out(data, name, int(number), count)
        data[total] = str(count - 1)
    return data


def _take_out(data: QueryDict, name: str, number: int, count: int) -> None:
    """Move the rows after this one up by one."""
    for field in ROWS[name].form.base_fields:
        keys = [f"{name}-{row}-{field}" for row in range(count)]
        kept = [data.get(key, "") for row, key in enumerate(keys) if row != number]
        for key, value in zip(keys, kept, strict=False):
            data[key] = value
