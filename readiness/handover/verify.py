"""Checking an export file without trusting it: names, digests, signature, the Record, and each row.

Uses nothing but the standard library (Ed25519 is `cryptography`'s), so that a doubting reader can
read all of it. `replayed.py` compares the rows, `reading.py` guards against what is no export.
"""

import base64
import binascii
import hashlib
import re
import zipfile
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import Any

from readiness.evidence import merkle
from readiness.evidence.notes import BadNote, Note
from readiness.evidence.signing import id_of, is_signed_by, public_pem
from readiness.handover import (
    CHECKPOINT,
    FORMATS,
    GENESIS,
    KEY,
    MANIFEST,
    PROOF,
    RECORD,
    SIGNATURE,
    SIGNED_SINCE,
    SUMS,
    BadExport,
)
from readiness.handover.reading import bytes_of, json_of, lines_of, opened, row_of, rows_in
from readiness.handover.replayed import Told, check_rows

CHUNK_BYTES = 1 << 20
MOST_SUMS_BYTES = 64 << 20
SUM_LINE = re.compile(r"^([0-9a-f]{64})  (\S.*)$")
DIGEST = re.compile(r"^[0-9a-f]{64}$")


@dataclass
class Verified:
    """What was checked. ``deleted`` photos have an entry that says so and no file.

    ``key`` is the key that signed it: whose it is, the file can't say. An export of an earlier
    version has none, and of its rows nothing was compared.
    """

    manifest: dict = field(default_factory=dict)
    files: int = 0
    entries: int = 0
    rows: int = 0
    photos: int = 0
    papers: int = 0
    deleted: int = 0
    key: bytes = b""
    checkpoint: Note | None = None
    names: dict[str, str] = field(default_factory=dict)
    """The file that has a digest, wherever the version that made the export put it."""

    @property
    def key_id(self) -> str:
        return id_of(self.key) if self.key else ""

    @property
    def left_out(self) -> list[str]:
        return self.manifest.get("left_out", [])

    @property
    def missing(self) -> list[str]:
        return self.manifest.get("missing", [])


def verify_export(path: Path) -> Verified:
    """Check the whole file. Raises ``BadExport`` that names the first thing that is wrong."""
    with opened(path) as bundle:
        return _Checker(bundle).check()


class _Checker:
    def __init__(self, bundle: zipfile.ZipFile):
        self.bundle, self.done, self.told = bundle, Verified(), Told()
        self.last: dict[int, str] = {}
        """The digest of each entry, by its number."""

    def check(self) -> Verified:
        sums = self._sums()
        self._digests(sums)
        self.done.names = {digest: name for name, digest in sums.items()}
        self.done.manifest = self._manifest()
        is_signed = FORMATS.index(self.done.manifest["format"]) >= SIGNED_SINCE
        if is_signed:
            self._signature()
        added, removed = self._record(is_signed)
        self._photos(sums, added, removed)
        self._papers(sums)
        if is_signed:
            self.done.rows = check_rows(self.bundle, self.told, self.done.left_out)
            self._checkpoint()
        return self.done

    def _sums(self) -> dict[str, str]:
        sums = {}
        for line in lines_of(self.bundle, SUMS):
            match = SUM_LINE.match(line.decode("utf-8", "replace"))
            if not match:
                raise BadExport(f"{SUMS} has a line that is not a digest and a name.")
            sums[match[2]] = match[1]
        present = set(self.bundle.namelist()) - {SUMS, SIGNATURE}
        for name in sorted(sums.keys() - present):
            raise BadExport(f"{name} is missing.")
        for name in sorted(present - sums.keys()):
            raise BadExport(f"{name} does not belong to the export.")
        return sums

    def _digests(self, sums: dict[str, str]) -> None:
        for name, expected in sums.items():
            digest = hashlib.sha256()
            with self.bundle.open(name) as stream:
                while chunk := stream.read(CHUNK_BYTES):
                    digest.update(chunk)
            if digest.hexdigest() != expected:
                raise BadExport(f"{name} was changed: its SHA-256 is not the one listed.")
            self.done.files += 1

    def _manifest(self) -> dict:
        manifest = json_of(b"".join(lines_of(self.bundle, MANIFEST)), MANIFEST)
        if not isinstance(manifest, dict) or manifest.get("format") not in FORMATS:
            raise BadExport(
                f"{MANIFEST} is not that of a site export that this version can read. "
                "If a later version made it, upgrade first."
            )
        for name in ("site", "address", "made_at", "record_last_sha256"):
            if not isinstance(manifest.get(name), str):
                raise BadExport(f"{MANIFEST} does not say its {name}.")
        for name in ("missing", "left_out"):
            listed = manifest.get(name, [])
            if not isinstance(listed, list) or not all(isinstance(one, str) for one in listed):
                raise BadExport(f"{MANIFEST} does not say what is {name.replace('_', ' ')}.")
        return manifest

    def _signature(self) -> None:
        """That the key in the manifest signed SHA256SUMS, and so every file."""
        try:
            key = base64.b64decode(self.done.manifest.get("signing_key", ""), validate=True)
        except (binascii.Error, ValueError, TypeError) as error:
            raise BadExport(f"{MANIFEST} names no key that can be read.") from error
        signature = bytes_of(self.bundle, SIGNATURE, 64)
        if not is_signed_by(key, signature, bytes_of(self.bundle, SUMS, MOST_SUMS_BYTES)):
            raise BadExport(
                f"{SUMS} does not fit its signature: the export was changed after it was signed."
            )
        pem = public_pem(base64.b64encode(key).decode()).encode()
        if bytes_of(self.bundle, KEY, 1000) != pem:
            raise BadExport(f"{KEY} is not the key that {MANIFEST} names.")
        self.done.key = key

    def _checkpoint(self) -> None:
        """That the checkpoint is whole, and the Record's last entry under it under its root."""
        if CHECKPOINT not in self.bundle.namelist() and CHECKPOINT in self.done.missing:
            return
        told = row_of(bytes_of(self.bundle, PROOF, 100_000), PROOF)
        try:
            note = Note.of_file(bytes_of(self.bundle, CHECKPOINT, 4000).decode())
            if Note.of_values(told["checkpoint"]) != note:
                raise BadNote("another checkpoint")
            head = told["head"]
            sequence, position = head["sequence"], head["position"]
            digest, parts = head["sha256"], [bytes.fromhex(part) for part in head["inclusion"]]
            proven = type(position) is int and merkle.includes(
                bytes.fromhex(digest), position, note.size, parts, note.root
            )
        except (ValueError, TypeError, KeyError, AttributeError) as error:
            raise BadExport(
                f"{CHECKPOINT} and {PROOF} are no checkpoint with its proof."
            ) from error
        if not is_signed_by(note.key, note.signature, note.signed):
            raise BadExport(f"{CHECKPOINT} was changed after it was signed.")
        if not proven or self.last.get(sequence) != digest:
            raise BadExport(f"{CHECKPOINT} is not of this Record: {PROOF} does not lead to it.")
        self.done.checkpoint = note

    def _record(self, is_signed: bool) -> tuple[dict[str, str], set[str]]:
        """Walk the chain; answers photos added (id to digest) and ids of photos removed."""
        previous, added, removed, site = GENESIS, {}, set(), self.done.manifest["site"]
        before: datetime | None = None
        for number, line in enumerate(lines_of(self.bundle, RECORD), start=1):
            entry = json_of(line, RECORD)
            if not isinstance(entry, dict) or not isinstance(entry.get("data"), dict):
                raise BadExport(f"Entry {number} of the Record is not an entry.")
            if entry.get("sequence") != number or entry.get("site") != site:
                raise BadExport(f"Entry {number} of the Record is missing or out of place.")
            if entry.get("previous") != previous:
                raise BadExport(f"Entry {number} of the Record does not follow the one before.")
            previous = self.last[number] = hashlib.sha256(line).hexdigest()
            self.done.entries += 1
            if is_signed:
                self.told.read(entry)
                before = _time_after(before, entry)
            elif entry.get("rows"):
                raise BadExport(
                    f"Entry {number} of the Record is of a later version than {MANIFEST} says."
                )
            photo, digest = entry["data"].get("photo"), entry["data"].get("sha256")
            if not all(isinstance(one, str | None) for one in (photo, digest, entry.get("verb"))):
                raise BadExport(f"Entry {number} of the Record is not an entry.")
            if entry.get("verb") == "photo_added":
                added[photo] = digest
            elif entry.get("verb") == "photo_removed":
                removed.add(photo)
        if previous != self.done.manifest.get("record_last_sha256"):
            raise BadExport("The Record does not end where the manifest says.")
        if self.done.manifest.get("record_entries") != self.done.entries:
            raise BadExport("The Record has not as many entries as the manifest says.")
        return added, removed

    def _photos(self, sums, added: dict[str, str], removed: set[str]) -> None:
        """Each photo is that of its entry, and its original is there unless it was left out."""
        files = {}
        for name, digest in sums.items():
            if name.startswith("originals/"):
                if PurePosixPath(name).stem != digest:
                    raise BadExport(f"{name} is not the file that its name says.")
                files[digest] = name
        left_out = "originals/" in self.done.left_out
        for row in rows_in(self.bundle, "photos"):
            digest = _text(row, "original_id", "photos")
            if added.get(_text(row, "id", "photos"), digest) != digest:
                raise BadExport(f"Photo {row['id']} is not the one in the Record.")
            if row.get("removed_at"):
                self.done.deleted += 1
            elif not left_out and digest not in files:
                raise BadExport(f"The original {digest} of a photo is missing.")
            self.done.photos += 1
        for photo, digest in added.items():
            if photo not in removed and not left_out and digest not in files:
                raise BadExport(f"The original {digest} named in the Record is missing.")

    def _papers(self, sums) -> None:
        present = {digest for name, digest in sums.items() if name.startswith("papers/")}
        for row in rows_in(self.bundle, "papers"):
            if row.get("state") != "made":
                continue
            digest = _text(row, "digest", "papers")
            if digest not in present:
                raise BadExport(f"The paper {digest} is missing.")
            self.done.papers += 1


def _text(row: dict, column: str, name: str) -> str:
    if not isinstance(row.get(column), str):
        raise BadExport(f"data/{name}.jsonl has a row without its {column}.")
    return row[column]


def _time_after(before: datetime | None, entry: dict[str, Any]) -> datetime:
    """The entry's time, which is never before that of the one before unless the entry says so."""
    number = entry["sequence"]
    try:
        at = datetime.fromisoformat(entry["at"]).astimezone(UTC)
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        raise BadExport(f"Entry {number} of the Record has no time.") from error
    if before and at < before and not entry["data"].get("clock_set_back"):
        raise BadExport(f"Entry {number} of the Record is dated before the entry before it.")
    return at
