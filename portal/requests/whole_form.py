"""Forms that were sent before all of their page was there.

With poor reception a page comes in pieces. A button in the middle of a form, or Enter, then sends
only the fields that are there, and what is stored further down would be taken for cleared. Such a
form carries a mark after its last field; without that mark nothing of it is stored.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.forms import BaseForm, BaseFormSet, BoundField, ChoiceField
from django.http import QueryDict

END = "whole"
"""The field that `portal/_form_end.html` puts after the others."""

NOT_WHOLE = (
    "Not saved: the page was still loading when you sent it. "
    "What you typed is kept. Check it and send it again."
)


def is_complete(data: QueryDict) -> bool:
    """Whether everything down to the end of the form was sent."""
    return END in data


def filled_up(data: QueryDict, *shown: BaseForm | BaseFormSet) -> QueryDict:
    """What was sent, and for the fields that were not, what the page was going to show.

    `shown` are the forms as the page shows them at first. The result is as if the whole page had
    been sent; buttons that were pressed are in it too.
    """
    filled = QueryDict(mutable=True)
    lists = set()
    for form in shown:
        for field in _fields(form):
            value = field.value()
            filled[field.html_name] = "" if value is None else str(value)
            if isinstance(field.field, ChoiceField):
                lists.add(field.html_name)
    arrived = [name for name in data if name in filled]
    # Of a list that is cut short the browser sends the first choice, not the one that was chosen.
    cut_short = {arrived[-1]} & lists if arrived else set()
    for name in data.keys() - cut_short:
        filled.setlist(name, data.getlist(name))
    return filled


def _fields(shown: BaseForm | BaseFormSet) -> Iterator[BoundField]:
    if isinstance(shown, BaseFormSet):
        yield from shown.management_form
        for form in shown.forms:
            yield from form
    else:
        yield from shown
