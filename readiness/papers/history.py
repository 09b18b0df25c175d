"""What became of the items of a report up to a moment: said fixed, accepted, with what photos."""

from dataclasses import dataclass
from datetime import datetime

from readiness.models import DefectItem, Fix, SiteReport
from readiness.papers import wording
from readiness.papers.pictures import Frame
from readiness.papers.views import ItemView, PhotoView, Snapshot
from readiness.rules.catalogue import HOLDS
from readiness.snapshots import photo_snapshot


@dataclass(frozen=True)
class FixStory:
    """One item that held the booking, and how it was dealt with."""

    item: ItemView
    said: str
    decided: str
    after: tuple[PhotoView, ...]

    @property
    def before_and_after(self) -> list[tuple[str, PhotoView]]:
        """The first photo of what was wrong beside the last of the fix; empty without both."""
        if not (self.item.photos and self.after):
            return []
        return [("Before", self.item.photos[0]), ("After", self.after[-1])]


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
    found = [_story(view, rows.get(view.id), until) for view in snapshot.items(frame, HOLDS)]
    entries = [photo for _, _, _, photos in found for photo in photos]
    snapshot.album.add(entry["id"] for entry in entries)
    return tuple(
        FixStory(
            view,
            said,
            decided,
            tuple(
                snapshot.photo(entry, number, frame, f"{view.name} after the fix, {view.place}")
                for number, entry in enumerate(photos, 1)
            ),
        )
        for view, said, decided, photos in _worded(found, snapshot)
    )


def _story(view: ItemView, item: DefectItem | None, until: datetime):
    fix = _last_fix(item, until) if item else None
    photos = [photo for photo in fix.photos.all() if not photo.removed_at] if fix else []
    return view, fix, item, [wording.clean(photo_snapshot(photo)) for photo in photos]


def _last_fix(item: DefectItem, until: datetime) -> Fix | None:
    """The last time that somebody said it is fixed and did not take that back, before `until`."""
    said = [
        fix
        for fix in item.fixes.all()
        if fix.said_at <= until and not (fix.taken_back_at and fix.taken_back_at <= until)
    ]
    return max(said, key=lambda fix: fix.said_at, default=None)


def _worded(found, snapshot: Snapshot):
    zone = snapshot.zone
    for view, fix, item, photos in found:
        said = decided = ""
        if fix:
            said = _by(fix.said_by, fix.said_at, zone)
            decided = "Not looked at yet"
        if fix and fix.outcome:
            words = "Accepted" if fix.outcome == Fix.Outcome.ACCEPTED else "Sent back"
            decided = f"{words} {_by(fix.reviewed_by, fix.reviewed_at, zone)}"
        if item and item.decision == DefectItem.Decision.LET_GO:
            decided = f"Let go {_by(item.decided_by, item.decided_at, zone)}"
        elif item and not fix and item.state == "accepted" and item.state_changed_at:
            decided = f"Accepted {wording.short_when(item.state_changed_at, zone)}"
        yield view, said, decided, photos


def _by(person, at: datetime | None, zone) -> str:
    name = f"by {wording.clean(str(person))}, " if person else ""
    return f"{name}{wording.short_when(at, zone)}"
