"""What a paper carries to be held against the Record later: the checkpoint kept with its row.

The head of the site's chain, as far as that checkpoint goes, and the proof that it is under the
checkpoint's root. All of it stays the same for ever, and so do the bytes of the paper.
schema/record-1.json describes the file that is attached.
"""

import base64
from dataclasses import dataclass
from functools import cached_property
from zoneinfo import ZoneInfo

from readiness.evidence import checkpoints, merkle
from readiness.evidence.notes import Note
from readiness.models import Checkpoint, Paper, RecordEntry, Site
from readiness.papers import qr, wording
from readiness.wording.paper import proof as say

FORMAT = "site-readiness-record"
VERSION = 1
CHECK_PAGE = "/check/"
CODE_MM = 18


@dataclass(frozen=True)
class Head:
    """The last entry of the site under the checkpoint, and its proof (RFC 9162, 2.1.3)."""

    sequence: int
    digest: str
    position: int
    inclusion: tuple[str, ...]


@dataclass(frozen=True)
class Proof:
    note: Note
    head: Head | None
    zone: ZoneInfo

    @property
    def data(self) -> dict:
        """What is attached."""
        told: dict = {
            "format": FORMAT,
            "version": VERSION,
            "checkpoint": self.note.values(),
        }
        if self.head is not None:
            told["head"] = {
                "sequence": self.head.sequence,
                "sha256": self.head.digest,
                "position": self.head.position,
                "inclusion": list(self.head.inclusion),
            }
        return told

    @property
    def page(self) -> str:
        """The portal's page for checking a file, as it is printed."""
        return f"{self.note.portal}{CHECK_PAGE}"

    @property
    def link(self) -> str:
        """The same with the checkpoint, as the code has it: short, so that its squares are big."""
        root = base64.urlsafe_b64encode(self.note.root).decode().rstrip("=")
        return f"{self.page}?size={self.note.size}&root={root}"

    @cached_property
    def code(self) -> str:
        return qr.svg(self.link, CODE_MM)

    @property
    def heading(self) -> str:
        return say.heading()

    @property
    def proves(self) -> str:
        return say.proves(self.note.size, wording.when(self.note.at, self.zone))

    @property
    def proves_not(self) -> str:
        return say.proves_not()

    @property
    def to_check(self) -> str:
        return say.to_check()


def of(paper: Paper) -> Proof | None:
    """The proof of the paper's checkpoint; None for one that was made without.

    Raises HistoryChanged where the entries do not give that checkpoint's root any more.
    """
    if paper.checkpoint is None:
        return None
    head = head_of(paper.site, paper.checkpoint)
    return Proof(checkpoints.note_of(paper.checkpoint), head, paper.site.zone)


def head_of(site: Site, checkpoint: Checkpoint) -> Head | None:
    """The site's last entry under a checkpoint, with its proof; None where there is none.

    Raises HistoryChanged as above.
    """
    entries = RecordEntry.objects.filter(site=site, leaf__position__lt=checkpoint.size)
    last = entries.select_related("leaf").order_by("sequence").last()
    if last is None:
        return None
    at, root = last.leaf.position, bytes.fromhex(checkpoint.root)
    parts = checkpoints.tree(checkpoint.size).inclusion(at)
    if not merkle.includes(bytes.fromhex(last.digest), at, checkpoint.size, parts, root):
        raise checkpoints.HistoryChanged(f"{checkpoint} / {last}")
    return Head(last.sequence, last.digest, at, tuple(part.hex() for part in parts))
