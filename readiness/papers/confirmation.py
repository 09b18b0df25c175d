"""The readiness confirmation: who signed what, when, on which report, and until when it holds."""

from collections.abc import Sequence

from readiness.models import Business, Paper, ReadinessConfirmation, RecordEntry
from readiness.models.verbs import Verb
from readiness.papers import data, history, referrals, wording
from readiness.papers.pdf import Draft
from readiness.papers.pictures import Frame
from readiness.papers.report_draft import report_draft
from readiness.papers.site_report import head
from readiness.papers.views import Snapshot, finish_words
from readiness.rules.band.geometry import WallRun
from readiness.snapshots import referrals_snapshot
from readiness.wording.paper import confirmation as say
from readiness.wording.paper import referrals as say_referrals
from readiness.wording.signing import signed_how

PHOTO = Frame(82, 46)  # two items and their pairs fit on one page


def draft(paper: Paper) -> Draft:
    """The paper of a signed confirmation, as things stood when it was signed."""
    confirmation = paper.confirmation
    report = confirmation.report
    snapshot = Snapshot.of(report, paper)
    stories = history.stories(report, snapshot, confirmation.confirmed_at, PHOTO)
    referred = referrals_snapshot(report.site, until=confirmation.confirmed_at)
    return build(
        snapshot,
        confirmation,
        stories,
        record=_record_entry(confirmation),
        referred=wording.clean(referred),
    )


def build(
    snapshot: Snapshot,
    confirmation: ReadinessConfirmation,
    stories=(),
    *,
    record: RecordEntry | None = None,
    referred: Sequence[dict] = (),
) -> Draft:
    """`referred` is what only a technician decides, as it stood when it was signed."""
    name = say.name()
    zone = snapshot.zone
    limits = referrals.limits(referred, snapshot.run_letters, zone)
    signed = {
        key: wording.clean(getattr(confirmation, key))
        for key in ("statement", "name", "position", "signature", "withdrawn_reason")
    }
    confirmed = wording.when(confirmation.confirmed_at, zone)
    context = {
        **head(snapshot, name),
        **{key: words for key, words in signed.items() if key != "name"},
        "signer": signed["name"],
        "signed_how": wording.clean(signed_how(confirmation, zone)),
        "confirmed": confirmed,
        "confirmed_exact": wording.exact(confirmation.confirmed_at, zone),
        "lapses": wording.when(confirmation.valid_until, zone),
        "withdrawn": wording.when(confirmation.withdrawn_at, zone),
        "withdrawn_by": wording.clean(str(confirmation.withdrawn_by or "")),
        "walls": _ticks(
            snapshot, confirmation.ticks, referrals.walls_at(snapshot.facts.runs, referred)
        ),
        "limits": limits,
        "tick_words": [words for _, words in say.ticks()],
        "stories": stories,
        "whole_digests": True,
        "pairs": [story for story in stories if story.before_and_after],
        "signed_digest": wording.grouped_digest(record.data.get("sha256", "")) if record else "",
        "record_sequence": record.sequence if record else None,
        "record_digest": wording.grouped_digest(record.digest) if record else "",
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
        limits=limits.sentences,
        limits_mean=limits.meaning,
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


def _ticks(snapshot: Snapshot, ticks: dict, walls: Sequence[WallRun]) -> list[dict]:
    """What was ticked of each wall; of one that nobody can reach nothing was asked."""
    return [
        {
            "letter": snapshot.run_letters[run.id],
            "label": run.label,
            "finish": finish_words(run),
            "ticks": [_tick(key in ticks.get(run.id, ()), run) for key, _ in say.ticks()],
        }
        for run in walls
    ]


def _tick(is_ticked: bool, run: WallRun) -> str:
    if is_ticked:
        return "Yes"
    return "No" if run.reachable_mm else say_referrals.not_asked()


def _data(confirmation: ReadinessConfirmation, signed: dict, record: RecordEntry | None) -> dict:
    gone = confirmation.withdrawn_at
    return data.told(
        statement=signed["statement"],
        name=signed["name"],
        position=signed["position"],
        signature=signed["signature"],
        account_address=confirmation.account_address,
        proved_by=str(confirmation.proved_by),
        proved_at=confirmation.proved_at.isoformat() if confirmation.proved_at else None,
        device=wording.clean(confirmation.device),
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
