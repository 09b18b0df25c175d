"""The room of a screen is named in its address, and its code and its words stand there.

Something leads to each screen, and a test of its own looks at it.
"""

import re
from pathlib import Path

from django.urls import resolve

from tests.portal.test_access_walk import every_route

PROJECT = Path(__file__).parents[2]
TEMPLATES = PROJECT / "templates" / "portal"
SIDES = ("office", "builder")


def views():
    """(side, room by the address, module of the view, route) of every page of both sides."""
    for route, _ in every_route():
        side, _, rest = route.partition("/")
        if side in SIDES:
            path = "/" + re.sub(r"<(\w+):[^>]+>", _some, route)
            module = resolve(path).func.__module__
            yield side, rest.split("/")[0] or "home", module, route


def _some(converter):
    return {"uuid": "0a110000-0000-0000-0000-000000000000", "int": "1"}.get(converter[1], "some")


def test_every_address_names_the_room_of_its_view():
    wrong = [
        (route, module)
        for side, room, module, route in views()
        if not module.startswith(f"portal.{side}.{room}.")
    ]
    assert wrong == []


def test_every_room_of_screens_has_its_templates_under_its_name():
    for side in SIDES:
        rooms = {room for at, room, _, _ in views() if at == side}
        folders = {path.name for path in (TEMPLATES / side).iterdir() if path.is_dir()}
        assert folders <= rooms, folders - rooms


def names():
    """The full name of every page of both sides."""
    return [name for _, name in every_route() if name.partition(":")[0] in SIDES]


def test_something_leads_to_every_page():
    files = [*PROJECT.glob("templates/**/*.*"), *PROJECT.glob("portal/**/*.py")]
    text = "".join(file.read_text() for file in files if file.name != "urls.py")
    alone = [name for name in names() if not re.search(rf"""["']{name}["']""", text)]
    assert not alone, f"No link, button or redirect leads to {', '.join(alone)}."


def test_every_page_is_asked_for_by_its_name_in_a_test():
    text = "".join(file.read_text() for file in PROJECT.glob("tests/**/*.py"))
    quoted = set(re.findall(r"""["'](\w+:\w+)["']""", text))
    called = set(re.findall(r"""\w\((?:\w+, )?["'](\w+)["']""", text))
    missing = [
        name for name in names() if name not in quoted and name.partition(":")[2] not in called
    ]
    assert not missing, f"No test asks for {', '.join(missing)}."
