"""The room of a screen is named in its address, and its code and its words stand there."""

import re
from pathlib import Path

from django.urls import resolve

from tests.portal.test_access_walk import every_route

TEMPLATES = Path(__file__).parents[2] / "templates" / "portal"
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
