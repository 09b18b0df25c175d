"""What the annex with all rule values says."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.wording import sources


def name() -> str:
    """The paper's name."""
    return _("Rule values and sources")


def description() -> str:
    """What the file's properties say of it."""
    return _("The values that a report was made with, and where each comes from")


def heading(report: int) -> str:
    """What the table is of."""
    return _("The values that report %(number)d was made with") % {"number": report}


def introduction() -> str:
    """What a source is, and what comes before all of them."""
    return _(
        "The report keeps these values. Local codes, the product label and the licensed "
        "technician's judgement come first. %(meaning)s"
    ) % {"meaning": sources.meaning()}
