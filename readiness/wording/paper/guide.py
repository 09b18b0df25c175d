"""What the preparation guide says."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def name() -> str:
    """The paper's name."""
    return _("How to get a site ready")


def description() -> str:
    """What the file's properties say of it."""
    return _("What a builder prepares before the treatment")


def courses(count: int) -> str:
    """ "2 courses"."""
    return ngettext("%(count)d course", "%(count)d courses", count) % {"count": count}


def example_wall() -> str:
    """The name of a made-up wall."""
    return _("Example wall")


def own_values(day: str) -> str:
    """Of all numbers of the guide: what has no source beside it."""
    return _(
        "Numbers without a source beside them are this business's own settings as of %(day)s. "
        "Local codes, the product label and the licensed technician's judgement come first."
    ) % {"day": day}


def brick_on_slabs() -> str:
    """What this is for, and what it is not."""
    return _(
        "This is for brick walls on concrete slabs. It does not cover suspended floors: no ant "
        "caps, stumps or underfloor vents."
    )


def ready_means(words: Callable[[str], str]) -> list[tuple[str, str]]:
    """What ready means: a word or two, and the rule.

    `words` gives a rule value with its unit, and with its source where that is published.
    """
    return [
        (
            _("Clear"),
            _(
                "At least %(height)s of clear wall between finished ground and the joint where "
                "the treatment ends. Allow for the paving and topsoil still to come. No soil, "
                "timber or rubbish against the brick."
            )
            % {"height": words("line_above_ground_mm")},
        ),
        (
            _("Filled"),
            _(
                "Fill every bed joint and perpend in the treated band solid to the face: nothing "
                "open deeper than %(depth)s. Fill a plain gap between bricks of more than "
                "%(gap)s with mortar. Never put mortar in an articulation joint, or in a gap "
                "beside a frame or round a pipe: ask us."
            )
            % {"depth": words("unfilled_depth_max_mm"), "gap": words("sealant_width_max_mm")},
        ),
        (
            _("Sealed"),
            _(
                "Articulation joints have backing rod and flexible sealant up to the top of the "
                "treated band. Cracks up to %(crack)s need sealant only."
            )
            % {"crack": words("crack_sealant_alone_max_mm")},
        ),
        (
            _("Weep holes"),
            _("Open right through to the cavity, and above the joint where the treatment ends."),
        ),
        (
            _("Render"),
            _(
                "Cut a joint in the render (struck joint), straight and level, at least "
                "%(height)s above finished ground."
            )
            % {"height": words("line_above_ground_mm")},
        ),
        (_("Clean"), _("No mortar drops or smears, mud, dust or paint on the treated band.")),
        (
            _("Dry"),
            _("Let the brick dry for %(washed)s after washing, and for %(rain)s after rain.")
            % {"washed": words("drying_hours"), "rain": words("rain_drying_hours")},
        ),
        (
            _("Reachable"),
            _(
                "Keep attachments at least %(gap)s off the wall, or ask us how else the wall can "
                "be inspected there. Keep a strip about 1 m wide along it free to walk on."
            )
            % {"gap": words("attachment_gap_mm")},
        ),
    ]
