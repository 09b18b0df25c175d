"""The readiness confirmation: who signed what, when, on which report, and until when it holds."""

from readiness.models import Business, Paper, ReadinessConfirmation, RecordEntry
from readiness.models.verbs import Verb
from readiness.papers import data, history, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import Snapshot, finish_words
from readiness.wording.paper import confirmation as say

PHOTO = Frame(82, 54)  # two items and their pairs fit on one page


def draft(paper: Paper) -> Draft:
    """The paper of a signed confirmation, as things stood when it was signed."""
    confirmation = paper.confirmation
    report = confirmation.report
    snapshot = Snapshot.of(report, paper)
    stories = history.stories(report, snapshot, confirmation.confirmed_at, PHOTO)
    return build(snapshot, confirmation, stories, record=_record_entry(confirmation))


def build(
    snapshot: Snapshot,
    confirmation: ReadinessConfirmation,
    stories=(),
    *,
    record: RecordEntry | None = None,
) -> Draft:
    name = say.name()
    zone = snapshot.zone
    signed = {
        key: wording.clean(getattr(confirmation, key))
        for key in ("statement", "name", "position", "signature", "withdrawn_reason")
    }
    confirmed = wording.when(confirmation.confirmed_at, zone)
    context = {
        **head(snapshot, name),
        **{key: words for key, words in signed.items() if key != "name"},
        "signer": signed["name"],
        "confirmed": confirmed,
        "confirmed_exact": wording.exact(confirmation.confirmed_at, zone),
        "lapses": wording.when(confirmation.valid_until, zone),
        "withdrawn": wording.when(confirmation.withdrawn_at, zone),
        "withdrawn_by": wording.clean(str(confirmation.withdrawn_by or "")),
        "walls": _ticks(snapshot, confirmation.ticks),
        "tick_words": [words for _, words in say.ticks()],
        "stories": stories,
        "pairs": [story for story in stories if story.before_and_after],
        "signed_digest": wording.grouped_digest(record.data.get("sha256", "")) if record else "",
        "record_sequence": record.sequence if record else None,
        "record_digest": wording.short_digest(record.digest) if record else "",
        "reported_is_enough": snapshot.content["fixes_needed"]
        == Business.FixesNeeded.REPORTED_FIXED,
        "product": snapshot.content["business"]["product_name"],
    }
    return report_draft(
        "confirmation",
        snapshot,
        name,
        context,
        dated=confirmation.confirmed_at,
        description=say.description(signed["name"], confirmed),
        report_sha256=snapshot.digest,
        confirmation=_data(confirmation, signed, record),
        walls=[_wall_data(wall) for wall in context["walls"]],
        stories=data.stories(stories),
        before_and_after=[_pair_data(story) for story in context["pairs"]],
    )


def _record_entry(confirmation: ReadinessConfirmation) -> RecordEntry | None:
    """Where the signing stands in the site's Record: it keeps the digest of what was signed."""
    return RecordEntry.objects.filter(
        site=confirmation.report.site,
        verb=Verb.READY_CONFIRMED,
        data__confirmation=str(confirmation.pk),
    ).first()


def _ticks(snapshot: Snapshot, ticks: dict) -> list[dict]:
    return [
        {
            "letter": snapshot.run_letters[run.id],
            "label": run.label,
            "finish": finish_words(run),
            "ticks": ["Yes" if key in ticks.get(run.id, ()) else "No" for key, _ in say.ticks()],
        }
        for run in snapshot.facts.runs
    ]


def _data(confirmation: ReadinessConfirmation, signed: dict, record: RecordEntry | None) -> dict:
    gone = confirmation.withdrawn_at
    return data.told(
        statement=signed["statement"],
        name=signed["name"],
        position=signed["position"],
        signature=signed["signature"],
        confirmed_at=confirmation.confirmed_at.isoformat(),
        valid_until_at=None if gone else confirmation.valid_until.isoformat(),
        withdrawn_at=gone.isoformat() if gone else None,
        withdrawn_by=wording.clean(str(confirmation.withdrawn_by or "")) if gone else "",
        withdrawn_reason=signed["withdrawn_reason"] if gone else "",
        record_entry=record.sequence if record else None,
        signed_sha256=record.data.get("sha256") if record else None,
    )


def _wall_data(wall: dict) -> dict:
    said = dict(zip((key for key, _ in say.ticks()), wall["ticks"], strict=True))
    return {"letter": wall["letter"], "label": wall["label"], "finish": wall["finish"], **said}


def _pair_data(story) -> dict:
    shown = [
        {"words": words, **data.photo(photo, caption=False)}
        for words, photo in story.before_and_after
    ]
    return data.where(story.item) | {"photos": shown}
