"""What became of the items of a report up to a moment: fixed, accepted, with what photos."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from readiness.models import DefectItem, Fix, RecordEntry, SiteReport, User
from readiness.models.verbs import Verb
from readiness.papers import wording
from readiness.papers.pictures import Frame
from readiness.papers.views import ItemView, PhotoView, Snapshot
from readiness.rules.vocabulary import Effect, ItemState
from readiness.snapshots import photo_snapshot
from readiness.wording.paper import fixes as say


@dataclass(frozen=True)
class FixStory:
    """One item that held the booking, and how it was dealt with.

    `said` and `decided` are of the last time; `earlier` has a sentence for each time before that
    it was sent back.
    """

    item: ItemView
    said: str
    decided: str
    after: tuple[PhotoView, ...]
    earlier: tuple[str, ...] = ()
    after_words: str = ""

    @property
    def before_and_after(self) -> list[tuple[str, PhotoView]]:
        """The first photo of what was wrong beside the last of the fix; empty without both."""
        if not (self.item.photos and self.after):
            return []
        return [(say.before(), self.item.photos[0]), (self.after_words, self.after[-1])]


def stories(
    report: SiteReport, snapshot: Snapshot, until: datetime, frame: Frame
) -> tuple[FixStory, ...]:
    """Every holding item of the report in order, as it stood at `until`."""
    rows = {
        str(item.pk): item
        for item in DefectItem.objects.filter(report=report)
        .select_related("decided_by")
        .prefetch_related(
            "fixes__said_by", "fixes__reviewed_by", "fixes__photos__original",
            "fixes__photos__markup", "fixes__photos__measurements",
        )
    }  # fmt: skip
    pasts = _Pasts(report, until, snapshot.zone)
    found = []
    for view in snapshot.items(frame, Effect.HOLDS):
        item = rows.get(view.id)
        found.append((view, item, _last_fix(item, until) if item else None))
    photos = {view.id: _photos(fix) for view, _, fix in found}
    snapshot.album.add(entry["id"] for entries in photos.values() for entry in entries)
    return tuple(
        FixStory(
            view,
            _by(fix.said_by, fix.said_at, snapshot.zone) if fix else "",
            pasts.decided(item, fix) if item else "",
            tuple(
                snapshot.photo(entry, number, frame, say.photo_of_fix(view.name, view.place))
                for number, entry in enumerate(photos[view.id], 1)
            ),
            tuple(pasts.earlier(item, fix)) if item else (),
            say.after_sent_back() if fix and pasts.was_sent_back(fix) else say.after(),
        )
        for view, item, fix in found
    )


def _photos(fix: Fix | None) -> list[dict]:
    """The photos of a fix that are still kept, as a snapshot has them."""
    photos = [photo for photo in fix.photos.all() if not photo.removed_at] if fix else []
    return [wording.clean(photo_snapshot(photo)) for photo in photos]


def _last_fix(item: DefectItem, until: datetime) -> Fix | None:
    """The last time that somebody said it is fixed and did not take that back, before `until`."""
    said = [
        fix
        for fix in item.fixes.all()
        if fix.said_at <= until and not (fix.taken_back_at and fix.taken_back_at <= until)
    ]
    return max(said, key=lambda fix: fix.said_at, default=None)


class _Pasts:
    """How the fixes of a report's items were judged by a moment; what came later is not told."""

    def __init__(self, report: SiteReport, until: datetime, zone):
        self._report, self._until, self._zone = report, until, zone
        self._sent_back = self._fixes_sent_back()
        self._carried_from = dict(
            DefectItem.objects.filter(report__site=report.site_id).values_list(
                "pk", "carried_from_id"
            )
        )
        self._on_site = self._accepted_on_site()

    def decided(self, item: DefectItem, fix: Fix | None) -> str:
        """What the applicator made of the item in the end; `fix` is the builder's last one."""
        if self._withdrawn(item):
            return say.withdrawn(_by(item.decided_by, item.decided_at, self._zone))
        if self._accepted_without_a_fix(item, fix):
            who = self._on_site.get(str(item.pk))
            return say.accepted_on_site(_by(who, item.state_changed_at, self._zone))
        if fix is None:
            return ""
        if not self._reviewed(fix):
            return say.not_checked()
        if self.was_sent_back(fix):
            return say.sent_back(_reviewed_by(fix, self._zone))
        return say.accepted(_by(fix.reviewed_by, fix.reviewed_at, self._zone))

    def earlier(self, item: DefectItem, fix: Fix | None) -> Iterator[str]:
        """A sentence for each time that the item was sent back, the oldest first.

        Those of the items that it was carried over from are among them. Not the last fix `fix`,
        unless the item was let go or accepted on site after it: `decided` tells of it otherwise.
        """
        over = self._withdrawn(item) or self._accepted_without_a_fix(item, fix)
        for past in sorted(self._of_chain(item.pk), key=lambda past: past.said_at):
            if over or fix is None or _saying(past) != _saying(fix):
                yield self._sentence(past)

    def _sentence(self, past: Fix) -> str:
        reported = _by(past.said_by, past.said_at, self._zone)
        sent_back = _reviewed_by(past, self._zone)
        if past.item.report_id == self._report.pk:
            return say.earlier(reported, sent_back)
        report = past.item.report.number
        return say.earlier_on_report(past.item.number, report, reported, sent_back)

    def _withdrawn(self, item: DefectItem) -> bool:
        return item.decision == DefectItem.Decision.WITHDRAWN and self._by_then(item.decided_at)

    def was_sent_back(self, fix: Fix) -> bool:
        """Whether the builder's fix did not do; a photo of it does not show the thing put right."""
        return fix.outcome == Fix.Outcome.SENT_BACK and self._reviewed(fix)

    def _reviewed(self, fix: Fix) -> bool:
        return bool(fix.outcome) and self._by_then(fix.reviewed_at)

    def _of_chain(self, item_id: UUID | None) -> Iterable[Fix]:
        """Each once, as it was on the item that it was said of: a report carries them along."""
        found: dict[tuple, Fix] = {}
        while item_id:
            found.update({_saying(fix): fix for fix in self._sent_back.get(item_id, ())})
            item_id = self._carried_from.get(item_id)
        return found.values()

    def _by_then(self, at: datetime | None) -> bool:
        return at is not None and at <= self._until

    def _accepted_without_a_fix(self, item: DefectItem, fix: Fix | None) -> bool:
        """The applicator saw it done although nobody had said so since it was last sent back."""
        if item.state != ItemState.ACCEPTED or not self._by_then(item.state_changed_at):
            return False
        return fix is None or self.was_sent_back(fix)

    def _fixes_sent_back(self) -> dict[UUID, list[Fix]]:
        """By item, on any report of the site."""
        found: dict[UUID, list[Fix]] = {}
        for fix in (
            Fix.objects.filter(
                item__report__site=self._report.site_id,
                outcome=Fix.Outcome.SENT_BACK,
                reviewed_at__lte=self._until,
            )
            .select_related("said_by", "reviewed_by", "item__report")
            .defer("item__report__snapshot")
        ):
            found.setdefault(fix.item_id, []).append(fix)
        return found

    def _accepted_on_site(self) -> dict[str, User | None]:
        """Who accepted an item on site, by its id: no fix keeps that, but the Record does."""
        entries = RecordEntry.objects.filter(
            site=self._report.site_id,
            verb=Verb.FIX_ACCEPTED,
            data__on_site=True,
            at__lte=self._until,
        ).select_related("actor")
        return {entry.data["item"]: entry.actor for entry in entries}


def _saying(fix: Fix) -> tuple:
    """What tells one time that something was said fixed from another, on whichever report."""
    return fix.said_at, fix.said_by_id


def _reviewed_by(fix: Fix, zone) -> str:
    """By whom, when and, where it is said, why."""
    reason = wording.clean(fix.reason).strip()
    return say.with_why(_by(fix.reviewed_by, fix.reviewed_at, zone), reason)


def _by(person, at: datetime | None, zone) -> str:
    name = wording.clean(str(person)) if person else ""
    return say.by(name, wording.short_when(at, zone))
