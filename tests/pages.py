"""Reading a page as a browser does: which fields would it send?"""

import html
import re
from html.parser import HTMLParser


class _Fields(HTMLParser):
    """The fields of one form, as far as the page goes."""

    def __init__(self, mark: str):
        super().__init__()
        self.mark, self.inside = mark, False
        self.select, self.area, self.templates = "", "", 0
        self.found: dict[str, str] = {}

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag == "form":
            self.inside = self.mark in given
        self.templates += tag == "template"
        if not self.inside or self.templates:
            return
        name = given.get("name") or ""
        if tag == "input" and name and given.get("type") not in ("submit", "checkbox", "radio"):
            self.found[name] = given.get("value") or ""
        elif tag == "textarea":
            self.area, self.found[name] = name, ""
        elif tag == "select":
            self.select = name
        elif tag == "option" and ("selected" in given or self.select not in self.found):
            self.found[self.select] = given.get("value") or ""

    def handle_data(self, data):
        if self.area:
            self.found[self.area] += data

    def handle_endtag(self, tag):
        if tag == "textarea" and self.area:
            self.found[self.area] = self.found[self.area].removeprefix("\n")
            self.area = ""
        self.templates -= tag == "template"
        if tag == "form":
            self.inside = False


def fields_of(page: str, mark: str) -> dict[str, str]:
    """The text fields and lists of the form with this attribute, with what they hold.

    `page` may end anywhere, as one that is still on its way; a tag that is not whole is no field.
    """
    reader = _Fields(mark)
    reader.feed(page)
    reader.found.pop("csrfmiddlewaretoken", None)  # a new one for each page
    return reader.found


def shown(response) -> str:
    """The markup with each run of white space as one blank, as a browser shows it."""
    return " ".join(response.content.decode().split())


def read(response) -> str:
    """What a page says, without its markup: each run of white space, and each tag, as one blank."""
    text = html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode()))
    return re.sub(r" (?=[.,:;])", "", " ".join(text.split()))
