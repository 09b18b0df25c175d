"""What is typed, made fit to keep: for every form and every JSON body, and only here.

NUL is refused: PostgreSQL keeps none. Other control characters, and those that turn the direction
of what follows, go: nobody types them, and in a name they make a line read as another. A text of
one line stays one line, as its box would have it: a name with a line break in it could forge a line
of a paper or of an e-mail's head.
"""

from __future__ import annotations

import re

from django.core.exceptions import BadRequest
from django.http import QueryDict

LINES_ALLOWED = frozenset(
    {
        "access_notes", "address", "confirmation_statement", "guide_note", "note", "notes",
        "reason", "report_introduction", "required_fix",
    }
)  # fmt: skip
"""The fields with several lines, by the last part of their name; every other has one."""

_BREAKS = re.compile("\r\n|[\r\v\f\x85\u2028\u2029]")
_INVISIBLE = re.compile("[\x01-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\u202a-\u202e\u2066-\u2069\ufeff]")
_ODD = re.compile("[\x01-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufeff]")


def several_lines(text: str) -> str:
    """A text without control characters but its line breaks and tabs."""
    return _INVISIBLE.sub("", _BREAKS.sub("\n", text)) if _ODD.search(text) else text


def one_line(text: str) -> str:
    """The same, on one line."""
    return re.sub("[\n\t]", " ", several_lines(text)) if _ODD.search(text) else text


def readable(sent: QueryDict) -> QueryDict:
    """What was sent, each text as it can be kept. Raises BadRequest for a NUL."""
    if any("\x00" in text for name, texts in sent.lists() for text in (name, *texts)):
        raise BadRequest("A text has a NUL character.")
    if not any(_ODD.search(text) for _, texts in sent.lists() for text in texts):
        return sent
    cleaned = QueryDict(mutable=True, encoding=sent.encoding)
    for name, texts in sent.lists():
        clean = several_lines if name.rpartition("-")[2] in LINES_ALLOWED else one_line
        cleaned.setlist(name, [clean(text) for text in texts])
    cleaned._mutable = False
    return cleaned


class ReadableTextMiddleware:
    """Views get what was sent as `readable` has it; JSON goes through `json_body`."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        if "\x00" in request.path:
            raise BadRequest("An address has a NUL character.")
        request.GET = readable(request.GET)
        if request.method == "POST":
            request.POST = readable(request.POST)
