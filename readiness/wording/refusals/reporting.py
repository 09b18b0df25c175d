"""Why a draft can't be changed or issued."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from readiness.rules.words import listed, metres
from readiness.wording import dates

# Walls and checks


def no_walls() -> str:
    return _("This site has no walls yet. Enter them first.")


def wall_not_checked(wall: str) -> str:
    return _("%(wall)s is not checked yet. Check it, then issue the report.") % {"wall": wall}


def wall_of_another_site() -> str:
    return _("That wall belongs to another site. Choose a wall of this one.")


def note_too_long(length: int, limit: int) -> str:
    """A note of so many characters."""
    return _("The note has %(length)d characters; the limit is %(limit)d. Make it shorter.") % {
        "length": length,
        "limit": limit,
    }


def levels_changed() -> str:
    return _("The levels have changed and no longer show this. Check the drawing again.")


# Items


def item(number: int, kind: str, wall: str = "") -> str:
    """An item as the beginning of a sentence: "Item 3 (Wet brick, North wall)"."""
    about = ", ".join(part for part in (kind, wall) if part)
    return _("Item %(number)d (%(about)s)") % {"number": number, "about": about}


def item_incomplete(named: str, *, photo: bool, measurement: str, fix: bool) -> str:
    """What an item still lacks: a photo, its measurement (by its label), what has to be done."""
    lacks = [
        _("add a photo") if photo else "",
        _("measure it (%(what)s)") % {"what": measurement} if measurement else "",
        _("write what has to be done") if fix else "",
    ]
    return _("%(item)s: %(todo)s.") % {
        "item": named,
        "todo": listed(part for part in lacks if part),
    }


def item_on_removed_wall(named: str) -> str:
    return _("%(item)s: that wall was removed. Choose another wall.") % {"item": named}


def item_of_another_report() -> str:
    return _("This item belongs to another report. Open your draft and add it there.")


def kind_gone() -> str:
    return _("This kind of defect is not in the list any more. Choose another one.")


def past_the_end(place_mm: int, wall: str, length_mm: int) -> str:
    return _(
        "%(place)s is past the end of %(wall)s, which is %(length)s long. Check the distance."
    ) % {"place": metres(place_mm), "wall": wall, "length": metres(length_mm)}  # fmt: skip


def end_before_start() -> str:
    return _("The end must come after the start.")


# Days


def wanted_day_passed(day: date) -> str:
    return _(
        "Treatment was wanted on %(day)s, which has passed. Choose a later day, or leave it empty."
    ) % {"day": dates.day(day)}  # fmt: skip


def item_due_passed(named: str, day: date) -> str:
    return _("%(item)s was due on %(day)s, which has passed. Choose a later day.") % {
        "item": named,
        "day": dates.day(day),
    }


def due_before_visit(day: date) -> str:
    return _("%(day)s is before the visit. Choose a later day.") % {"day": dates.day(day)}


def due_passed(day: date) -> str:
    return _("%(day)s has passed. Choose a later day.") % {"day": dates.day(day)}


# The report before


def carried_from_elsewhere() -> str:
    return _("Items can be carried over from the current report only. Open that report again.")


def nothing_to_carry(number: int) -> str:
    return _("Item %(number)d is accepted, so there is nothing to carry over.") % {"number": number}


def accepted_meanwhile(named: str) -> str:
    return _(
        "%(item)s was accepted in the meantime. Take it out, or add what is wrong now as a new "
        "item."
    ) % {"item": named}  # fmt: skip


def dispute_not_decided(report: int, named: str) -> str:
    """An item of the current report that is disputed and not in the draft."""
    return _("%(item)s of report %(report)d is disputed and not carried over. Decide it first.") % {
        "report": report,
        "item": named,
    }


def fix_not_reviewed(report: int, named: str) -> str:
    """An item of the current report that is reported fixed and not in the draft."""
    return _(
        "%(item)s of report %(report)d is reported fixed and not carried over. Review it first."
    ) % {"report": report, "item": named}  # fmt: skip


# Issuing


def report_is_issued(number: int) -> str:
    return _("Report %(number)d is issued and can't change. Start a new report.") % {
        "number": number
    }


def told_of_another_builder() -> str:
    return _("You ticked somebody who works for another builder. Untick them, then issue.")
