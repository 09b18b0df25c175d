"""Why a site or its walls can't be changed."""

from __future__ import annotations

from django.utils.translation import gettext as _


def contact_of_another_builder() -> str:
    return _("E-mails about a site go to people of its own builder only. Untick the others.")


def rain_to_come() -> str:
    return _("That time is still to come. Enter when the rain stopped.")


def booking_is_open() -> str:
    return _("This site still has an open booking. Record the visit or cancel the booking first.")


def is_archived() -> str:
    return _("This site is finished and archived. Open it again first.")


def walls_called_alike(name: str) -> str:
    return _("Two walls are called “%(name)s”. Give each its own name.") % {"name": name}


def has_walls_already() -> str:
    return _("This site has walls already. Remove them first to copy others.")


def no_walls_to_copy(source: str) -> str:
    return _("%(site)s has no walls to copy. Choose another site.") % {"site": source}
