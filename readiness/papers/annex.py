"""All rule values of a report with their sources: an annex, made for who asks for it."""

from dataclasses import dataclass

from readiness.models import Paper
from readiness.papers import data, wording
from readiness.papers.pdf import Draft
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import Snapshot
from readiness.rules.values.rule_table import COSTS
from readiness.rules.values.rule_values import RuleValues
from readiness.wording import sources
from readiness.wording.paper import rule_values as say

# What a reader of the paper can't check on the wall stays on the rule values page.
_NOT_OF_THE_WALL = ("average_perimeter_m", "invitation_valid_days")


@dataclass(frozen=True)
class RuleRow:
    """One rule value, and where it comes from."""

    label: str
    value: str
    source: str


def draft(paper: Paper) -> Draft:
    """The values that the paper's issued report was made with."""
    return build(Snapshot.of(paper.report, paper))


def build(snapshot: Snapshot) -> Draft:
    name = say.name()
    groups = rule_groups(snapshot.facts.values)
    context = {
        **head(snapshot, name),
        "heading": say.heading(snapshot.number),
        "introduction": say.introduction(),
        "groups": groups,
        "without_photos": True,
    }
    return report_draft(
        "rule_values",
        snapshot,
        name,
        context,
        description=say.description(),
        report_sha256=snapshot.digest,
        rule_values=[
            data.told(group=group, label=row.label, value=row.value, source=row.source)
            for group, rows in groups
            for row in rows
        ],
    )


def rule_groups(values: RuleValues) -> list[tuple[str, list[RuleRow]]]:
    """The rule values by group, in the table's order; of an old report, those of then."""
    groups: dict[str, list[RuleRow]] = {}
    for rule in values.rules():
        if rule.group == COSTS or rule.key in _NOT_OF_THE_WALL:
            continue
        source = sources.with_kind(rule.source_of(values[rule.key]))
        row = RuleRow(rule.label, wording.with_units(values.words(rule.key)), source)
        groups.setdefault(rule.group, []).append(row)
    return list(groups.items())
