"""What the levels of a wall run say, ready for a page: answer, drawing, checks, proposed items."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.safestring import SafeString, mark_safe

from portal.office.levels.entry import TypedProblem, section_of
from readiness.actions.reporting.proposals import item_id_of
from readiness.models import DefectItem, SiteReport
from readiness.papers.drawings.corner_marks import neighbours_of
from readiness.papers.drawings.elevation import ItemMark, elevation_svg
from readiness.papers.drawings.lean import lean
from readiness.papers.drawings.section import section_svg
from readiness.rules.band import believable
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import WallBand, bands_of
from readiness.rules.defects.catalogue import TRADES, get_kind
from readiness.rules.defects.proposals import ProposedItem, proposed_items
from readiness.rules.defects.site_checks import Finding, site_checks, weeps_over_line
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import where
from readiness.wording import band as words
from readiness.wording import office_levels
from readiness.wording.believable import unbelievable
from readiness.wording.checks import finding_sentence
from readiness.wording.levels import segment_words
from readiness.wording.proposals import why
from readiness.wording.saying import Tone


@dataclass(frozen=True)
class ProposalWords:
    """A proposed item as the page says it; `key` adds it."""

    key: str
    why: str
    source: str


@dataclass(frozen=True)
class Proposal:
    """A proposed item, and the item of the draft that it became, if it did."""

    proposed: ProposalWords
    kind_name: str
    trade: str
    item: DefectItem | None = None


@dataclass(frozen=True)
class Checked:
    """A check that was made, in words."""

    sentence: str
    source: str
    ok: bool
    is_note: bool


@dataclass
class Answer:
    """All that a page shows of one run's levels. `tone` is how it looks."""

    run: WallRun
    tone: Tone
    sentence: str
    brief: str
    band: WallBand | None = None
    elevation: SafeString | str = ""
    section: SafeString | str = ""
    problems: list[TypedProblem] = field(default_factory=list)
    decide: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    findings: list[Checked] = field(default_factory=list)
    proposals: list[Proposal] = field(default_factory=list)

    @property
    def segments(self) -> list[tuple[str, str]]:
        """Each stretch of the line: where, and on what joint."""
        slab_mm = self.run.slab_level_mm
        return [
            (where(part.from_mm, part.to_mm), segment_words(part, slab_mm))
            for part in (self.band.segments if self.band else ())
        ]

    @property
    def to_add(self) -> list[Proposal]:
        return [proposal for proposal in self.proposals if proposal.item is None]

    @property
    def failed(self) -> list[Checked]:
        return [finding for finding in self.findings if not finding.ok]

    @property
    def passed(self) -> list[Checked]:
        return [finding for finding in self.findings if finding.ok]


def answer_of(
    run: WallRun,
    values: RuleValues,
    *,
    walls: Sequence[WallRun] = (),
    soil_class: str = "",
    typed_problems: list[TypedProblem] | None = None,
    draft: SiteReport | None = None,
    items: list[DefectItem] | None = None,
) -> Answer:
    """Work a run out and put it in words; what can't be believed is said instead.

    `walls` are those of the house, as bands meet at the corners: all of them with this one, or it
    and those that it meets. None: it stands alone. `soil_class` is the site's, empty where nobody
    knows it.
    """
    problems = list(typed_problems or [])
    doubted = believable.problems(run)
    if doubted:
        problems += [TypedProblem(unbelievable(part), section_of(part)) for part in doubted]
        text = office_levels.unbelievable()
        return Answer(run, Tone.WAIT, text, text, problems=problems)
    if not run.reachable_mm:
        text = office_levels.out_of_reach()
        return Answer(run, Tone.QUIET, text, text, problems=problems)
    walls = walls or (run,)
    bands = bands_of(walls, values)
    band = bands[run.id]
    findings = [*site_checks(run, values, soil_class), *weeps_over_line(run, band, values)]
    proposed = proposed_items(run, values, band)
    marks = [_mark(item) for item in items or [] if str(item.wall_run_id) == run.id]
    around = neighbours_of(run, walls, bands)
    drawn = elevation_svg(run, values, band, items=marks, neighbours=around)
    return Answer(
        run=run,
        tone=_tone(band, proposed),
        sentence=office_levels.sentence(run, band),
        brief=office_levels.brief(run, band),
        band=band,
        elevation=mark_safe(lean(drawn)),  # noqa: S308
        section=mark_safe(lean(section_svg(run, values, band) or "")),  # noqa: S308
        problems=problems,
        decide=words.decisions(band) if band else [],
        notes=_notes(run, band) if band else [],
        findings=[_checked(finding) for finding in findings],
        proposals=_proposals(proposed, draft),
    )


def _mark(item: DefectItem) -> ItemMark:
    return ItemMark(item.number, item.from_mm, item.to_mm, str(item.wall_run_id))


def _checked(finding: Finding) -> Checked:
    return Checked(finding_sentence(finding), finding.source, finding.ok, finding.is_note)


def _notes(run: WallRun, band: WallBand) -> list[str]:
    """What is worth knowing; the bottom of the brickwork is asked about on its own wall too."""
    unseen = not run.is_rendered and run.brick_bottom_mm is None
    known = [*words.notes(band), *words.still_bare(band)]
    return [*known, *([words.bottom_unknown([run.label])] if unseen else [])]


def _tone(band: WallBand | None, proposed: list[ProposedItem]) -> Tone:
    if any(part.clear is None for part in proposed):
        return Tone.STOP
    return Tone.GO if band is not None and band.is_right and not proposed else Tone.WAIT


def _proposals(proposed: list[ProposedItem], draft: SiteReport | None) -> list[Proposal]:
    ids = {item_id_of(draft, part): part for part in proposed} if draft else {}
    added = {item.pk: item for item in DefectItem.objects.filter(pk__in=ids)} if ids else {}
    by_key = {part.key: added.get(pk) for pk, part in ids.items()}
    return [
        Proposal(
            ProposalWords(part.key, why(part), part.source),
            get_kind(part.kind).name,
            TRADES[part.trade],
            by_key.get(part.key),
        )
        for part in proposed
    ]
