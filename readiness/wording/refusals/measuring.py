"""Why nothing can be measured in a photo."""

from __future__ import annotations

from django.utils.translation import gettext as _


def measurement_of_another_photo() -> str:
    return _("This measurement belongs to another photo. Measure in this one again.")


def item_takes_no_mm() -> str:
    return _("This photo's item takes no measurement in mm. Keep the measurement with the photo.")


def value_unbelievable(value_mm: int, label: str, least_mm: int, most_mm: int) -> str:
    """A measured value that can't be the item's (`label` says what is measured)."""
    return _(
        "%(value)d mm can't be right for “%(label)s”. It can be from %(least)d to %(most)d mm. "
        "Measure again."
    ) % {"value": value_mm, "label": label, "least": least_mm, "most": most_mm}


# What was marked


def no_reference() -> str:
    return _("Say what the four corners are the corners of.")


def bricks_along(least: int, most: int) -> str:
    return _("Enter the number of bricks along, from %(least)d to %(most)d.") % {
        "least": least,
        "most": most,
    }


def courses_up(least: int, most: int) -> str:
    return _("Enter the number of courses up, from %(least)d to %(most)d.") % {
        "least": least,
        "most": most,
    }


def no_bricks() -> str:
    return _("Mark at least one brick along and one course up.")


def reference_without_size() -> str:
    return _("Enter the width, height and tolerance of the reference in mm.")


def reference_too_vague() -> str:
    return _("The size of the reference is not known well enough. Use something larger.")


def corners_missing() -> str:
    return _("Mark all four corners first.")


def ends_missing() -> str:
    return _("Mark both ends of what you want to measure.")


def marks_of_an_earlier_page() -> str:
    """The page did not say how the marks were set."""
    return _("This page is of an earlier version. Load it again: your marks are kept.")


def no_direction() -> str:
    return _("Say which distance: straight, upright (height) or level (length).")


def mark_outside() -> str:
    return _("A mark lies outside the picture. Mark it again.")


def corners_alike() -> str:
    return _("Two corners are in the same place. Mark all four.")


def corners_crossed() -> str:
    return _(
        "The four corners cross over. Mark them in order: top left, top right, bottom right, "
        "bottom left."
    )


def corners_in_line() -> str:
    return _("Three corners lie in one line. Mark the corners of a rectangle.")


def no_rectangle() -> str:
    return _("The four corners do not make a rectangle. Mark them again.")


# Many courses


def courses_between(least: int, most: int) -> str:
    return _("Enter how many courses lie between the two joints, from %(least)d to %(most)d.") % {
        "least": least,
        "most": most,
    }


def gauge_by_courses_only() -> str:
    return _("For the gauge, mark four corners on bed joints and say how many courses lie between.")


def other_count(said: int, counted: int) -> str:
    """The picture shows another number of courses between the corners than was typed."""
    return _(
        "You entered %(said)d courses. The photo shows %(counted)d between the corners. Count "
        "again, or move the corners."
    ) % {"said": said, "counted": counted}


def corner_off_its_joint() -> str:
    return _(
        "One corner is not on the same joint as its neighbour. Put the two upper corners on one "
        "bed joint and the two lower ones on another."
    )


def length_without_size() -> str:
    return _("Enter the known length between the two ends, and how far off it may be, in mm.")


def length_too_vague() -> str:
    return _("The known length is not known well enough. Use a longer one, such as a tape.")


def length_too_short() -> str:
    return _("The two ends of the known length are too close together. Mark a longer one.")


def gauge_not_exact_enough() -> str:
    return _(
        "This gauge is not sure enough for a wall: the joints must be found in the photo and it "
        "must be better than 1 mm a course. Mark a longer known length, zoom in for its ends, or "
        "use a tape measure on the wall."
    )


def no_gauge_on_this_wall() -> str:
    return _("Choose a brick wall of this site for the gauge.")


def picture_not_read() -> str:
    return _("The joints can't be looked for in this photo. Use a tape measure.")


# What came out


def angle_too_flat() -> str:
    return _(
        "A mark lies too far from the reference, seen at too flat an angle. Mark a larger "
        "reference, or take the photo more squarely."
    )


def too_uncertain() -> str:
    return _(
        "The distance can't be told from these marks: the uncertainty is larger than the "
        "distance. Mark a larger reference close to it, and zoom in to place the marks."
    )
