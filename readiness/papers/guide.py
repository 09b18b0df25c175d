"""The preparation guide for a builder: what ready means, with this business's values, drawn."""

from dataclasses import dataclass
from datetime import datetime

from readiness.facts import rule_values
from readiness.models import Business, Paper, Site
from readiness.papers import data, figures, wording
from readiness.papers.drawings.kinds import kind_svg
from readiness.papers.drawings.section import section_svg
from readiness.papers.pdf import Draft
from readiness.papers.views import address, letterhead
from readiness.rules.band.geometry import Gauge, GroundPoint, WallRun, WeepHoles
from readiness.rules.defects.catalogue import KINDS, TRADES
from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import counted
from readiness.snapshots import letterhead_of

# The rule values that the guide's own sentences name, beside those in its rules and fixes.
PRINTED_VALUES = (
    "line_above_ground_mm", "slab_above_soil_mm", "slab_above_sandy_mm", "slab_above_paving_mm",
    "ground_fall_mm", "confirmation_valid_days", "confirmation_to_booking_days",
)  # fmt: skip
# What only a person at the wall can name, or what is no preparation.
_LEFT_OUT = ("other",)


@dataclass(frozen=True)
class Check:
    """One kind of defect, turned round: what to look for before the applicator does."""

    name: str
    look_for: str
    fix: str
    drawing: str


def draft(paper: Paper) -> Draft:
    """The guide for the paper's site, with the values in force when it was asked for."""
    return build(
        Business.current(),
        paper.site,
        paper.requested_at,
        edition=paper.edition,
        edition_reason=paper.edition_reason,
    )


def build(
    business: Business,
    site: Site | None,
    dated: datetime,
    *,
    edition: int = 1,
    edition_reason: str = "",
) -> Draft:
    head = wording.clean(letterhead_of(business))
    values = rule_values(business)
    lot = _site(site)
    name = "How to get a site ready"
    sample = example_wall(values)
    day = dated.astimezone(site.zone).date() if site else dated.date()
    context = {
        "letterhead": letterhead(head),
        "name": name,
        "address": address(lot) if lot else "",
        "builder": lot["builder"] if lot else "",
        "job_number": lot["job_number"] if lot else "",
        "running": name,
        "edition": edition,
        "edition_reason": edition_reason,
        "dated": wording.short_day(day),
        "rules": _rules(values),
        "values": {key: values.words(key) for key in values},
        "accepted": business.fixes_needed == Business.FixesNeeded.ACCEPTED,
        "elevation": figures.elevation(sample, values, height=134),
        "section": figures.fitted(section_svg(sample, values, width=440), 102, 100),
        "trades": _checks(values),
        "statement": wording.clean(business.confirmation_statement),
        "note": wording.clean(business.guide_note),
        "courses": counted(values["courses_treated"], "course"),
    }
    return Draft(
        template="papers/guide.html",
        title=f"{name}, {context['address']}" if lot else name,
        dated=dated,
        context=context,
        data=data.of_paper(
            "guide",
            head,
            name,
            edition,
            edition_reason,
            site=data.told(
                address=context["address"],
                builder=context["builder"],
                job_number=context["job_number"] if context["builder"] else "",
            ),
            dated_on=day.isoformat(),
            ready_means=[{"word": word, "rule": rule} for word, rule in context["rules"]],
            values={key: values.words(key) for key in PRINTED_VALUES},
            note=context["note"],
            statement=context["statement"],
            look_for=[
                {
                    "trade": trade,
                    **data.told(name=check.name, look_for=check.look_for, fix=check.fix),
                }
                for trade, checks in context["trades"]
                for check in checks
            ],
        ),
        author=head["name"],
        description="What a builder prepares before the treatment",
        paper_size=head["paper_size"],
    )


def _site(site: Site | None) -> dict | None:
    if site is None:
        return None
    return wording.clean(
        {
            "street": site.street,
            "suburb": site.suburb,
            "state": site.state,
            "postcode": site.postcode,
            "job_number": site.job_number,
            "builder": site.builder.name,
        }
    )


def _rules(values: RuleValues) -> list[tuple[str, str]]:
    """What ready means: a word or two, and the rule in plain words with the business's value."""
    words = values.words
    return [
        (
            "Clear",
            f"At least {words('line_above_ground_mm')} of clear wall between finished ground and "
            "the joint where the treatment ends. Think of the paving and topsoil still to come. "
            "No soil, timber or rubbish against the brick.",
        ),
        (
            "Filled",
            "Every bed joint and perpend in the band is filled solid to the face: nothing open "
            f"deeper than {words('unfilled_depth_max_mm')}. A plain gap between bricks of more "
            f"than {words('sealant_width_max_mm')} is filled with mortar; an articulation joint, "
            "or a gap beside a frame or round a pipe, never: ask us.",
        ),
        (
            "Sealed",
            "Articulation joints have backing rod and flexible sealant up to the top of the band. "
            f"Cracks up to {words('crack_sealant_alone_max_mm')} take sealant alone.",
        ),
        (
            "Weep holes",
            "Open right through to the cavity, and above the joint where the treatment ends.",
        ),
        (
            "Render",
            "A struck joint is cut straight and level through the render, at least "
            f"{words('line_above_ground_mm')} above finished ground.",
        ),
        ("Clean", "No mortar drops or smears, mud, dust or paint on the band."),
        (
            "Dry",
            f"The brick has dried for {words('drying_hours')} since it was last washed, and for "
            f"{words('rain_drying_hours')} since rain.",
        ),
        (
            "Reachable",
            f"Attachments stand at least {words('attachment_gap_mm')} off the wall, and a strip "
            "about 1 m wide along it is free to walk on.",
        ),
    ]


def example_wall(values: RuleValues) -> WallRun:
    """A made-up wall that is right, on gently sloping ground, with these values."""
    course_mm = values["gauge_height_mm"] / values["gauge_courses"]
    low = -round(values["line_above_ground_mm"] + 3.5 * course_mm)
    return WallRun(
        id="example",
        label="Example wall",
        length_mm=6000,
        gauge=Gauge(values["gauge_courses"], values["gauge_height_mm"]),
        first_bed_joint_mm=low,
        ground_today=(
            GroundPoint(0, low - 20),
            GroundPoint(3000, low + 20),
            GroundPoint(6000, low + 80),
        ),
        weep_holes=(WeepHoles(level_mm=low + round(4 * course_mm), spacing_mm=1000),),
    )


def _checks(values: RuleValues) -> list[tuple[str, list[Check]]]:
    """The catalogue by trade, in the catalogue's order."""
    trades: dict[str, list[Check]] = {}
    for slug, kind in KINDS.items():
        if slug not in _LEFT_OUT:
            trades.setdefault(TRADES[kind.trade], []).append(_check(kind, values))
    return list(trades.items())


def _check(kind: DefectKind, values: RuleValues) -> Check:
    return Check(kind.name, kind.look_for, kind.required_fix(values), _symbol(kind))


def _symbol(kind: DefectKind) -> str:
    try:
        return figures.fitted(kind_svg(kind.drawing_key), 13, 13, title=kind.name)
    except KeyError:
        return ""
