"""What is said of an item's measurement, held against the rule of its kind."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.rules.defects.defect_kind import AT_LEAST, MeasurementCheck
from readiness.rules.words import amount


def out_of_range(check: MeasurementCheck) -> str:
    """Why a value can't be right, for the field that it stands in."""
    return _("%(found)s can't be right. It can be from %(low)s to %(high)s.") % {
        "found": check.found_words,
        "low": amount(check.minimum, check.unit),
        "high": amount(check.maximum, check.unit),
    }


def measurement(check: MeasurementCheck) -> str:
    """The value with what it is of, and whether it meets its rule."""
    return _("%(label)s: %(said)s") % {"label": check.label, "said": _said(check)}


def _said(check: MeasurementCheck) -> str:
    if not check.believable:
        return out_of_range(check)
    if check.needed is None:
        return f"{check.found_words}."
    if check.comparison == AT_LEAST:
        words = _("%(found)s, %(difference)s less than the %(needed)s needed.")
        if check.ok:
            words = _("%(found)s. That is enough: at least %(needed)s needed.")
    else:
        words = _("%(found)s, %(difference)s over the limit of %(needed)s.")
        if check.ok:
            words = _("%(found)s. That is within the limit of %(needed)s.")
    return words % {
        "found": check.found_words,
        "difference": check.difference_words,
        "needed": check.needed_words,
    }
