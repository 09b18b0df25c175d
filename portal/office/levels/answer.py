"""What the levels of a wall run say, ready for a page: answer, drawing, checks, proposed items."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.utils.safestring import SafeString, mark_safe

from portal.office.levels.entry import TypedProblem, section_of
from readiness.actions.reporting.proposals import item_id_of
from readiness.models import DefectItem, SiteReport
from readiness.papers.drawings.elevation import ItemMark, elevation_svg
from readiness.papers.drawings.section import section_svg
from readiness.rules.band.believable import LevelsError
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import TreatmentLine, solve
from readiness.rules.defects.catalogue import TRADES, get_kind
from readiness.rules.defects.proposals import ProposedItem, proposed_items
from readiness.rules.defects.site_checks import Finding, site_checks, weeps_over_line
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import where
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
    line: TreatmentLine | None = None
    elevation: SafeString | str = ""
    section: SafeString | str = ""
    problems: list[TypedProblem] = field(default_factory=list)
    findings: list[Checked] = field(default_factory=list)
    proposals: list[Proposal] = field(default_factory=list)

    @property
    def segments(self) -> list[tuple[str, str]]:
        """Each stretch of the line: where, and on what joint."""
        parts = self.line.segments if self.line else ()
        return [(where(part.from_mm, part.to_mm), segment_words(part)) for part in parts]

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
    typed_problems: list[TypedProblem] | None = None,
    draft: SiteReport | None = None,
    items: list[DefectItem] | None = None,
) -> Answer:
    """Work a run out and put it in words; what can't be believed is said instead."""
    problems = list(typed_problems or [])
    try:
        line = solve(run, values)
        findings = [*site_checks(run, values), *weeps_over_line(run, line, values)]
        proposed = proposed_items(run, values, line)
    except LevelsError as error:
        problems += [TypedProblem(unbelievable(part), section_of(part)) for part in error.problems]
        text = office_levels.unbelievable()
        return Answer(run, Tone.WAIT, text, text, problems=problems)
    marks = [_mark(item) for item in items or [] if str(item.wall_run_id) == run.id]
    return Answer(
        run=run,
        tone=_tone(line, proposed),
        sentence=office_levels.sentence(run, line),
        brief=office_levels.brief(run, line),
        line=line,
        elevation=mark_safe(elevation_svg(run, values, line, items=marks)),  # noqa: S308
        section=mark_safe(section_svg(run, values, line) or ""),  # noqa: S308
        problems=problems,
        findings=[_checked(finding) for finding in findings],
        proposals=_proposals(proposed, draft),
    )


def _mark(item: DefectItem) -> ItemMark:
    return ItemMark(item.number, item.from_mm, item.to_mm, str(item.wall_run_id))


def _checked(finding: Finding) -> Checked:
    return Checked(finding_sentence(finding), finding.source, finding.ok, finding.is_note)


def _tone(line, proposed: list[ProposedItem]) -> Tone:
    if proposed:
        return Tone.STOP
    return Tone.GO if line is not None and line.meets_rules else Tone.WAIT


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
