"""Holding what left the portal long ago against the Record as it is now.

Old papers (PDF), e-mails (or a log of many), exports and checkpoint files each carry a signed root:
`check_against` works all roots out anew from the entries that are there and proves or disproves
each file. `check_own` does the same with the checkpoints that stand in the database.

It takes each entry's digest as it is stored: that a digest is its entry's own, and each row's own,
`verify_record` finds out. What it reads comes from anywhere: nothing in it is believed unsigned.
"""

import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pikepdf

from readiness.evidence import checkpoints, merkle, signing
from readiness.evidence.merkle import TILE, Tree
from readiness.evidence.notes import FIRST_LINE, BadNote, Note, headers_in
from readiness.models import Checkpoint, Leaf, SigningKey
from readiness.wording import anchors as wording
from readiness.wording.anchors import Result, What

RECORD_JSON = "record.json"
"""What a paper has attached (`readiness.papers.proof`)."""

EXPORT_MEMBER = "checkpoint.txt"
"""What an export has among its files: a checkpoint file."""

RECORD_FORMAT, RECORD_VERSIONS = "site-readiness-record", (1,)
LONGEST_BYTES = 100_000_000
LONGEST_JSON = 1_000_000
ROWS_READ = 5000


@dataclass(frozen=True)
class Finding:
    """What one checkpoint in one file says; `sentence` in words."""

    name: str
    what: What
    result: Result
    note: Note | None = None
    told: dict[str, object] = field(default_factory=dict)

    @property
    def holds(self) -> bool:
        return self.result == Result.HOLDS

    @property
    def is_of_use(self) -> bool:
        """Whether it proves or disproves anything: not so what has no checkpoint in it."""
        return self.result not in (Result.NO_CHECKPOINT, Result.UNREADABLE)

    @property
    def sentence(self) -> str:
        told = dict(self.told)
        if self.note is not None:
            told |= {
                "size": self.note.size,
                "time": f"{self.note.at:%Y-%m-%d %H:%M:%S} UTC",
                "key": signing.id_of(self.note.key),
            }
        return wording.say(self.name, self.what, self.result, **told)


@dataclass(frozen=True)
class Head:
    """The site's entry that a paper names, with its proof."""

    sequence: int
    digest: bytes
    position: int
    inclusion: tuple[bytes, ...]


@dataclass(frozen=True)
class Anchor:
    """One checkpoint as it was found in a file."""

    name: str
    what: What
    note: Note
    head: Head | None = None


def check_against(files: Iterable[Path]) -> list[Finding]:
    """What each of these files proves or disproves, in their order."""
    found: list[Anchor | Finding] = []
    for path in files:
        found += _read(path)
    return _judged(found)


def check_own() -> list[Finding]:
    """What does not hold of the checkpoints in the database; nothing where all do."""
    rows = list(Checkpoint.objects.select_related("key", "previous").order_by("number"))
    name = "{0.number}".format
    anchors = [Anchor(name(row), What.OURS, checkpoints.note_of(row)) for row in rows]
    judged = _judged(anchors)
    for at, row in enumerate(rows):
        if judged[at].holds and not _follows(row):
            judged[at] = Finding(name(row), What.OURS, Result.NOT_CONSISTENT, anchors[at].note)
    return [finding for finding in judged if not finding.holds]


def _follows(row: Checkpoint) -> bool:
    before = row.previous
    if before is None:
        return row.number == 1
    roots = bytes.fromhex(before.root), bytes.fromhex(row.root)
    proof = [bytes.fromhex(part) for part in row.consistency]
    consistent = merkle.is_consistent(before.size, roots[0], row.size, roots[1], proof)
    return consistent and before.number == row.number - 1


# What the files say


def _read(path: Path) -> list[Anchor | Finding]:
    """Each checkpoint in a file, or the one finding that says why there is none."""
    try:
        if path.stat().st_size > LONGEST_BYTES:
            return [Finding(path.name, What.FILE, Result.UNREADABLE)]
        content = path.read_bytes()
    except OSError:
        return [Finding(path.name, What.FILE, Result.UNREADABLE)]
    what, anchors = What.FILE, []
    try:
        for what, note, head in _notes(content):
            anchors.append(Anchor(path.name, what, note, head))
    except _Bad as bad:
        return [*anchors, Finding(path.name, bad.what, bad.result)]
    unlike = list(dict.fromkeys(anchors))  # a log may have one e-mail to many people
    return [*unlike] if unlike else [Finding(path.name, what, Result.NO_CHECKPOINT)]


class _Bad(Exception):
    def __init__(self, what: What, result: Result):
        super().__init__(result)
        self.what, self.result = what, result


Found = Iterator[tuple[What, Note, Head | None]]


def _notes(content: bytes) -> Found:
    if b"%PDF-" in content[:1024]:
        yield from _of_paper(content)
    elif content[:4] == b"PK\x03\x04":
        yield from _of_export(content)
    elif content[:1] == b"{":
        yield from _of_record(content)
    else:
        yield from _of_text(content.decode("utf-8", "replace"))


def _of_paper(content: bytes) -> Found:
    try:
        with pikepdf.open(io.BytesIO(content)) as opened:
            if RECORD_JSON not in opened.attachments:
                return
            data = opened.attachments[RECORD_JSON].get_file().read_bytes()
    except (pikepdf.PdfError, ValueError, RuntimeError) as error:
        raise _Bad(What.PAPER, Result.UNREADABLE) from error
    yield from _of_record(data)


def _of_record(data: bytes) -> Found:
    """From what is attached to a paper."""
    try:
        told = json.loads(data) if len(data) <= LONGEST_JSON else None
        if told["format"] != RECORD_FORMAT or told["version"] not in RECORD_VERSIONS:
            raise BadNote("another format")
        head = _head(told["head"]) if "head" in told else None
        yield What.PAPER, Note.of_values(told["checkpoint"]), head
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise _Bad(What.PAPER, Result.BAD_CHECKPOINT) from error


def _head(told: Any) -> Head:
    sequence, position = told["sequence"], told["position"]
    parts = tuple(bytes.fromhex(part) for part in told["inclusion"])
    if type(sequence) is not int or type(position) is not int or len(parts) > 64:
        raise BadNote("no head")
    return Head(sequence, bytes.fromhex(told["sha256"]), position, parts)


def _of_export(content: bytes) -> Found:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as bundle:
            if EXPORT_MEMBER not in bundle.namelist():
                return
            with bundle.open(EXPORT_MEMBER) as member:
                text = member.read(LONGEST_JSON).decode("utf-8", "replace")
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError) as error:
        raise _Bad(What.EXPORT, Result.UNREADABLE) from error
    try:
        yield What.EXPORT, Note.of_file(text), None
    except BadNote as error:
        raise _Bad(What.EXPORT, Result.BAD_CHECKPOINT) from error


def _of_text(text: str) -> Found:
    is_file = text.startswith(FIRST_LINE)
    what = What.CHECKPOINT if is_file else What.MAIL
    try:
        if is_file:
            yield what, Note.of_file(text), None
            return
        for value in headers_in(text):
            yield what, Note.of_header(value), None
    except BadNote as error:
        raise _Bad(what, Result.BAD_CHECKPOINT) from error


# What the entries say


def _judged(found: Sequence[Anchor | Finding]) -> list[Finding]:
    if not any(isinstance(one, Anchor) for one in found):
        return [one for one in found if isinstance(one, Finding)]
    present = _Present()
    judged = [one if isinstance(one, Finding) else present.judge(one) for one in found]
    return [_placed(finding, judged) for finding in judged]


class _Present:
    """The entries as they are now: read once, with a root for any size."""

    def __init__(self):
        self.keys = set(SigningKey.objects.values_list("public", flat=True))
        self.size, tiles, open_tile = 0, [], []
        for position, digest in _leaves():
            if position != self.size:
                break  # one is missing: what comes after stands under no root
            self.size += 1
            open_tile.append(bytes.fromhex(digest))
            if len(open_tile) == TILE:
                tiles.append(merkle.tile_root(open_tile))
                open_tile = []
        self.tree = Tree(self.size, checkpoints.digests, tiles)

    def judge(self, anchor: Anchor) -> Finding:
        told: dict[str, object] = {"there": self.size}
        if anchor.head is not None:
            told["entry"] = anchor.head.sequence
        return Finding(anchor.name, anchor.what, self._result(anchor), anchor.note, told)

    def _result(self, anchor: Anchor) -> Result:
        note = anchor.note
        if not signing.is_signed_by(note.key, note.signature, note.signed):
            return Result.BAD_SIGNATURE
        if note.values()["key"] not in self.keys:
            return Result.UNKNOWN_KEY
        if anchor.head is not None and not _is_proven(anchor.head, note):
            return Result.HEAD_NOT_PROVEN
        if note.size > self.size:
            return Result.SHORTER
        if self.tree.root(note.size) != note.root:
            return Result.CHANGED
        if anchor.head is not None and not _is_there(anchor.head):
            return Result.HEAD_CHANGED
        return Result.HOLDS


def _placed(finding: Finding, judged: Sequence[Finding]) -> Finding:
    """Of a change also after which entry it is: up to there another of the files holds."""
    if finding.result != Result.CHANGED:
        return finding
    holding = [one.note.size for one in judged if one.holds and one.note]
    after = max((size for size in holding if size < finding.note.size), default=0)
    result = Result.CHANGED_AFTER if after else Result.CHANGED
    return replace(finding, result=result, told={**finding.told, "after": after})


def _leaves() -> Iterator[tuple[int, str]]:
    """Position and digest of each, in order; where its entry is gone, so is the leaf."""
    leaves = Leaf.objects.order_by("position").values_list("position", "entry__digest")
    return leaves.iterator(chunk_size=ROWS_READ)


def _is_proven(head: Head, note: Note) -> bool:
    return merkle.includes(head.digest, head.position, note.size, head.inclusion, note.root)


def _is_there(head: Head) -> bool:
    """Whether the entry at that place is that number of a site's chain."""
    leaf = Leaf.objects.filter(position=head.position, entry__digest=head.digest.hex())
    return leaf.filter(entry__sequence=head.sequence).exists()
