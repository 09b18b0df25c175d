"""The preparation guide for a builder: what ready means, with this business's values, drawn."""

from dataclasses import dataclass
from datetime import datetime
from functools import partial

from readiness.facts import rule_values
from readiness.models import Business, Paper, Site
from readiness.papers import data, figures, wording
from readiness.papers.drawings.kinds import kind_svg
from readiness.papers.drawings.section import section_svg
from readiness.papers.pdf import Draft
from readiness.papers.views import address, cautions_of, letterhead
from readiness.rules.band.geometry import Gauge, GroundPoint, WallRun, WeepHoles
from readiness.rules.defects.catalogue import KINDS, TRADES
from readiness.rules.defects.defect_kind import DefectKind
from readiness.rules.values.rule_values import RuleValues
from readiness.snapshots import letterhead_of
from readiness.wording.cautions import beside_fix
from readiness.wording.local_rules import for_papers
from readiness.wording.paper import guide as say
from readiness.wording.sources import beside

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
    cautions: tuple[str, ...]
    drawing: str
    source: str


@dataclass(frozen=True)
class TradeChecks:
    """What one trade looks for."""

    trade: str
    checks: tuple[Check, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What is said beside its fixes, each once."""
        return cautions_of(self.checks)


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
    name = say.name()
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
        "rules": say.ready_means(partial(_with_source, values)),
        "values": {key: _with_source(values, key) for key in values},
        "own_values": say.own_values(wording.short_day(day)),
        "accepted": business.fixes_needed == Business.FixesNeeded.ACCEPTED,
        "elevation": figures.elevation(sample, values, height=134),
        "section": figures.fitted(section_svg(sample, values), 102, 100),
        "trades": _checks(values),
        "statement": wording.clean(business.confirmation_statement),
        "note": wording.clean(business.guide_note),
        "local_notes": for_papers(lot["state"]) if lot else [],
        "brick_on_slabs": say.brick_on_slabs(),
        "courses": say.courses(values["courses_treated"]),
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
            values={key: context["values"][key] for key in PRINTED_VALUES},
            note=context["note"],
            local_notes=context["local_notes"],
            statement=context["statement"],
            look_for=[
                {
                    "trade": trade.trade,
                    **data.told(
                        name=check.name,
                        look_for=check.look_for,
                        fix=check.fix,
                        cautions=check.cautions,
                        source=check.source,
                    ),
                }
                for trade in context["trades"]
                for check in trade.checks
            ],
        ),
        author=head["name"],
        description=say.description(),
        paper_size=head["paper_size"],
    )


def _with_source(values: RuleValues, key: str) -> str:
    """A value with its unit; beside it the published source, if it has one."""
    return beside(values.words(key), values.published_words(key))


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


def example_wall(values: RuleValues) -> WallRun:
    """A made-up wall that is right, on gently sloping ground, with these values."""
    course_mm = values["brick_height_mm"] + values["joint_thickness_mm"]
    low = -round(values["line_above_ground_mm"] + 3.5 * course_mm)
    return WallRun(
        id="example",
        label=say.example_wall(),
        length_mm=6000,
        gauge=Gauge(1, course_mm),
        bed_joint_mm=low,
        ground_today=(
            GroundPoint(0, low - 20),
            GroundPoint(3000, low + 20),
            GroundPoint(6000, low + 80),
        ),
        weep_holes=(WeepHoles(level_mm=low + round(4 * course_mm), spacing_mm=1000),),
    )


def _checks(values: RuleValues) -> list[TradeChecks]:
    """The catalogue by trade, in the catalogue's order."""
    trades: dict[str, list[Check]] = {}
    for slug, kind in KINDS.items():
        if slug not in _LEFT_OUT:
            trades.setdefault(TRADES[kind.trade], []).append(_check(kind, values))
    return [TradeChecks(trade, tuple(checks)) for trade, checks in trades.items()]


def _check(kind: DefectKind, values: RuleValues) -> Check:
    fix = kind.required_fix(values)
    cautions = beside_fix(fix, kind.cautions)
    return Check(kind.name, kind.look_for, fix, cautions, _symbol(kind), _source(kind, values))


def _source(kind: DefectKind, values: RuleValues) -> str:
    """The published source of the number that a kind's fix names: "25 mm: AS ..."."""
    key = kind.measurement.rule_key if kind.measurement else None
    if key is None or key not in values or "{needed}" not in kind.fix:
        return ""
    published = values.published_words(key)
    return f"{values.words(key)}: {published}" if published else ""


def _symbol(kind: DefectKind) -> str:
    try:
        return figures.fitted(kind_svg(kind.drawing_key), 13, 13, title=kind.name)
    except KeyError:
        return ""
