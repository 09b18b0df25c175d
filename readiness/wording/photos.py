"""What is said of a photo: what a reviewer should know, its marks, and what was measured in it.

Sentences of flags, descriptions of references and reasons of deletions are kept as they were said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.wording import dates

# When it was taken, and how that is known


def by_satellite() -> str:
    return _("by satellite time")


def by_xmp() -> str:
    return _("by the file's XMP data")


def by_camera() -> str:
    return _("by the camera's clock")


def in_site_time(source: str) -> str:
    """The file gives no time zone."""
    return _("%(source)s, which gives no time zone: read as the site's time") % {"source": source}


def taken(at: datetime, source: str) -> str:
    """ "12 March 2026 at 15:20 by the camera's clock"; a time at the site."""
    return _("%(when)s %(source)s") % {"when": dates.date_and_time(at), "source": source}


# What a reviewer should know


def sent_for(item: int | None, site: str, at: datetime) -> str:
    """What an earlier photo was sent for, and the day (at its site)."""
    day = dates.full_date(at)
    if item is None:
        return _("%(site)s, on %(day)s") % {"site": site, "day": day}
    return _("item %(number)d at %(site)s, on %(day)s") % {
        "number": item,
        "site": site,
        "day": day,
    }


def same_file(earlier: str) -> str:
    return _("The same file was sent before: %(earlier)s.") % {"earlier": earlier}


def near_duplicate(earlier: str) -> str:
    return _("Looks almost the same as an earlier photo: %(earlier)s.") % {"earlier": earlier}


def near_defect_photo(at: datetime) -> str:
    """It looks like the photo of the defect, which was sent then."""
    return _(
        "Looks almost the same as the photo of the defect from %(day)s. Check that it shows the "
        "wall after the fix."
    ) % {"day": dates.full_date(at)}


def no_capture_time() -> str:
    return _("The file does not say when it was taken.")


def taken_before_report(issued: datetime, taken_words: str) -> str:
    return _("Taken before the report was issued (%(issued)s): %(taken)s.") % {
        "issued": dates.date_and_time(issued),
        "taken": taken_words,
    }


def sent_late(days: int, taken_words: str) -> str:
    return _("Sent %(days)d days after it was taken: %(taken)s.") % {
        "days": days,
        "taken": taken_words,
    }


def clock_ahead(taken_words: str) -> str:
    return _("The camera's clock is ahead of the time it was sent: %(taken)s.") % {
        "taken": taken_words
    }


def far_away(distance_m: float) -> str:
    """Taken so far from the site, in metres."""
    away = f"{distance_m / 1000:.1f} km" if distance_m >= 1000 else f"{round(distance_m, -1):.0f} m"
    return _("Taken about %(away)s from the site, by the camera's position.") % {"away": away}


def screenshot_by_form() -> str:
    return _("Looks like a screenshot: it has the form of one and names no camera.")


def screenshot_by_name() -> str:
    return _("Looks like a screenshot: the file says so.")


def edited(editor: str) -> str:
    return _("Edited after it was taken: the file names “%(editor)s”.") % {"editor": editor}


def changed(at: datetime) -> str:
    return _("Changed after it was taken, by the camera's clock on %(when)s.") % {
        "when": dates.date_and_time(at)
    }


# Marks


def marks(shapes: Sequence[Mapping[str, Any]]) -> str:
    """The shapes for people who do not see them: "arrow; text “soil to here”"."""
    return "; ".join(_mark(shape) for shape in shapes)


def _mark(shape: Mapping[str, Any]) -> str:
    if shape["kind"] == "text":
        return _("text “%(text)s”") % {"text": shape["text"]}
    if shape["kind"] == "dimension" and shape["text"]:
        return _("line marked “%(text)s”") % {"text": shape["text"]}
    plain = {
        "dimension": _("line"),
        "arrow": _("arrow"),
        "circle": _("circle"),
        "blur": _("blurred part"),
    }
    return plain[shape["kind"]]


# Measuring


def one_brick() -> str:
    return _("one brick")


def known_thing() -> str:
    return _("a thing of known size")


def reference(name: str, width_mm: Decimal, height_mm: Decimal, tolerance_mm: Decimal) -> str:
    """What was measured against, and how well its size is known."""
    return _("%(name)s, %(width)s x %(height)s mm, give or take %(tolerance)s") % {
        "name": name,
        "width": width_mm,
        "height": height_mm,
        "tolerance": tolerance_mm,
    }


def bricks_and_courses(bricks: int, courses: int, width_mm: int, height_mm: int) -> str:
    """So many bricks along and courses up, and their size."""
    along = ngettext("%(count)d brick along", "%(count)d bricks along", bricks)
    up = ngettext("%(count)d course up", "%(count)d courses up", courses)
    return _("%(along)s and %(up)s, %(width)d x %(height)d mm") % {
        "along": along % {"count": bricks},
        "up": up % {"count": courses},
        "width": width_mm,
        "height": height_mm,
    }


def by_courses(courses: int, course_mm: Decimal, *, found: bool) -> str:
    """A distance was measured by so many courses of that height, found in the photo or marked."""
    words = _("%(count)d courses of %(course)s mm, joints found in the photo")
    if not found:
        words = _("%(count)d courses of %(course)s mm, by the four marks alone")
    return words % {"count": courses, "course": f"{course_mm:.1f}"}


def gauge_by(courses: int, length_mm: Decimal, tolerance_mm: Decimal, *, found: bool) -> str:
    """What a gauge rests on: the known length, and joints that were found or marked."""
    words = _(
        "height of %(count)d courses, joints found in the photo; "
        "known length %(length)s mm, give or take %(tolerance)s"
    )
    if not found:
        words = _(
            "height of %(count)d courses, by the four marks alone; "
            "known length %(length)s mm, give or take %(tolerance)s"
        )
    given = {"length": f"{length_mm.normalize():f}", "tolerance": f"{tolerance_mm.normalize():f}"}
    return words % {"count": courses, **given}


def gauge(course_mm: float, give_or_take_mm: float, courses: int, height_mm: int) -> str:
    """The gauge, with the courses that it was taken over."""
    return _(
        "One course: %(course).1f mm, give or take %(off).1f (%(count)d courses in %(height)d mm)."
    ) % {"course": course_mm, "off": give_or_take_mm, "count": courses, "height": height_mm}


def gauge_rests_on(*, found: bool, length_mm: Decimal) -> str:
    """What must be true for a gauge to be."""
    words = _(
        "It rests on the %(length)s mm between your two ends, on the same face as the brickwork, "
        "and on the joints found in the photo. Check that the lines lie on the bed joints."
    )
    if not found:
        words = _(
            "The joints could not be made out in this photo, so your count is not checked. It "
            "rests on the %(length)s mm between your two ends, and on your four corners being a "
            "rectangle."
        )
    return words % {"length": f"{length_mm.normalize():f}"}


def gauge_not_enough() -> str:
    return _(
        "For the gauge of a wall the joints must be found in the photo, and it must be better "
        "than 1 mm a course: mark a longer known length, zoom in for its ends, or use a tape "
        "measure on the wall."
    )


def measured(value_mm: int, uncertainty_mm: int) -> str:
    """A distance and how far it may be off, 95 times in 100."""
    return _("%(value)d mm, give or take %(uncertainty)d") % {
        "value": value_mm,
        "uncertainty": uncertainty_mm,
    }


def undecided(said: str, needed_mm: int) -> str:
    """The measurement is too uncertain for its rule."""
    return _("%(measured)s: not exact enough to decide %(needed)d mm. Use the tape.") % {
        "measured": said,
        "needed": needed_mm,
    }


def decided(said: str, needed_mm: int, *, more: bool, at_least: bool) -> str:
    """The measurement beside what its rule needs or allows."""
    if at_least:
        words = _("%(measured)s: more than the %(needed)d mm needed.")
        if not more:
            words = _("%(measured)s: less than the %(needed)d mm needed.")
    else:
        words = _("%(measured)s: more than the %(needed)d mm allowed.")
        if not more:
            words = _("%(measured)s: less than the %(needed)d mm allowed.")
    return words % {"measured": said, "needed": needed_mm}


# Why one is deleted, as the Record keeps it


def taken_back() -> str:
    return _("taken back before it was used")


def never_used() -> str:
    return _("sent, but never used")
