"""The data that goes with a paper, as JSON: schema/paper.json describes it."""

from readiness.papers.views import Snapshot
from readiness.rules.assessment import Assessment, Reason

FORMAT = "site-readiness-paper"
VERSION = 1


def of_report(kind: str, snapshot: Snapshot, *, edition: int = 1, **more) -> dict:
    """The data of a paper that shows a report: what it was made from, and the answer."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "paper": {"kind": kind, "edition": edition, **more},
        "report": snapshot.content,
        "report_sha256": snapshot.digest,
        "assessment": assessment_data(snapshot.assessment),
    }


def assessment_data(assessment: Assessment) -> dict:
    return {
        "status": assessment.site_status,
        "reasons": [_reason(reason) for reason in assessment.reasons],
        "notes": [_reason(reason) for reason in assessment.notes],
    }


def _reason(reason: Reason) -> dict:
    """A reason without its Python types: numbers as text, times in ISO 8601."""
    return {
        "code": reason.code,
        "sentence": reason.sentence,
        "who": reason.who,
        "blocks": sorted(reason.blocks),
        "wall_run": reason.run_id,
        "distance_mm": reason.distance_mm,
        "item": reason.item_number,
        "rule": reason.rule_key,
        "found": None if reason.found is None else str(reason.found),
        "needed": None if reason.needed is None else str(reason.needed),
        "unit": reason.unit,
        "source": reason.source,
        "until": reason.until.isoformat() if reason.until else None,
    }
