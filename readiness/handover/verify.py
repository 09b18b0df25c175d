"""Checking an export file without trusting it: names, digests, the Record, and what it promises.

Uses nothing but the standard library, so that a doubting reader can read all of it.
"""

import hashlib
import json
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from readiness.handover import FORMATS, GENESIS, MANIFEST, RECORD, SUMS, BadExport

CHUNK_BYTES = 1 << 20
MOST_BYTES = 64 << 30
MOST_FILES = 200_000
MOST_LINE_BYTES = 8 << 20
SUM_LINE = re.compile(r"^([0-9a-f]{64})  (\S.*)$")
DIGEST = re.compile(r"^[0-9a-f]{64}$")


@dataclass
class Verified:
    """What was checked. ``deleted`` photos have an entry that says so and no file."""

    manifest: dict = field(default_factory=dict)
    files: int = 0
    entries: int = 0
    photos: int = 0
    papers: int = 0
    deleted: int = 0


def verify_export(path: Path) -> Verified:
    """Check the whole file. Raises ``BadExport`` that names the first thing that is wrong."""
    try:
        with zipfile.ZipFile(path) as bundle:
            return _Checker(bundle).check()
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, NotImplementedError) as error:
        raise BadExport(f"The file is not a whole zip: {error}.") from error
    except (OSError, RuntimeError) as error:
        raise BadExport(f"The file can't be read: {error}.") from error


def lines_of(bundle: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """Lines of a file in the zip without their line ends."""
    try:
        stream = bundle.open(name)
    except KeyError as error:
        raise BadExport(f"{name} is missing.") from error
    with stream:
        while line := stream.readline(MOST_LINE_BYTES + 1):
            if len(line) > MOST_LINE_BYTES:
                raise BadExport(f"{name} has a line that is too long.")
            yield line.rstrip(b"\n")


def json_of(line: bytes, name: str):
    try:
        return json.loads(line)
    except (ValueError, RecursionError) as error:
        raise BadExport(f"{name} has a line that is not JSON.") from error


class _Checker:
    def __init__(self, bundle: zipfile.ZipFile):
        self.bundle, self.done = bundle, Verified()

    def check(self) -> Verified:
        self._names()
        sums = self._sums()
        self._digests(sums)
        self.done.manifest = self._manifest()
        added, removed = self._record()
        self._photos(sums, added, removed)
        self._papers(sums)
        return self.done

    def _names(self) -> None:
        infos = self.bundle.infolist()
        names = [info.filename for info in infos]
        if len(names) != len(set(names)):
            raise BadExport("Two files have the same name.")
        if len(names) > MOST_FILES or sum(info.file_size for info in infos) > MOST_BYTES:
            raise BadExport("The file unpacks to more than an export can be.")
        for name in names:
            parts = PurePosixPath(name).parts
            if name.startswith("/") or "\\" in name or ".." in parts or name.endswith("/"):
                raise BadExport(f"A file has a name that no export has: {name!r}.")

    def _sums(self) -> dict[str, str]:
        sums = {}
        for line in lines_of(self.bundle, SUMS):
            match = SUM_LINE.match(line.decode("utf-8", "replace"))
            if not match:
                raise BadExport(f"{SUMS} has a line that is not a digest and a name.")
            sums[match[2]] = match[1]
        present = set(self.bundle.namelist()) - {SUMS}
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
        return manifest

    def _record(self) -> tuple[dict[str, str], set[str]]:
        """Walk the chain; answers photos added (id to digest) and ids of photos removed."""
        previous, added, removed, site = GENESIS, {}, set(), self.done.manifest.get("site")
        for number, line in enumerate(lines_of(self.bundle, RECORD), start=1):
            entry = json_of(line, RECORD)
            if not isinstance(entry, dict) or not isinstance(entry.get("data"), dict):
                raise BadExport(f"Entry {number} of the Record is not an entry.")
            if entry.get("sequence") != number or entry.get("site") != site:
                raise BadExport(f"Entry {number} of the Record is missing or out of place.")
            if entry.get("previous") != previous:
                raise BadExport(f"Entry {number} of the Record does not follow the one before.")
            previous = hashlib.sha256(line).hexdigest()
            self.done.entries += 1
            photo, digest = entry["data"].get("photo"), entry["data"].get("sha256")
            if entry.get("verb") == "photo_added":
                added[photo] = digest
            elif entry.get("verb") == "photo_removed":
                removed.add(photo)
        if previous != self.done.manifest.get("record_last_sha256"):
            raise BadExport("The Record does not end where the manifest says.")
        return added, removed

    def _photos(self, sums, added: dict[str, str], removed: set[str]) -> None:
        files = {}
        for name, digest in sums.items():
            if name.startswith("originals/"):
                if PurePosixPath(name).stem != digest:
                    raise BadExport(f"{name} is not the file that its name says.")
                files[digest] = name
        for line in lines_of(self.bundle, "data/photos.jsonl"):
            row = json_of(line, "data/photos.jsonl")
            digest = row.get("original_id")
            recorded = added.get(row.get("id"), digest)
            if recorded != digest:
                raise BadExport(f"Photo {row.get('id')} is not the one in the Record.")
            if row.get("removed_at"):
                self.done.deleted += 1
            elif digest not in files:
                raise BadExport(f"The original {str(digest)[:12]} of a photo is missing.")
            self.done.photos += 1
        for photo, digest in added.items():
            if photo not in removed and digest not in files:
                raise BadExport(f"The original {str(digest)[:12]} named in the Record is missing.")

    def _papers(self, sums) -> None:
        present = {digest for name, digest in sums.items() if name.startswith("papers/")}
        for line in lines_of(self.bundle, "data/papers.jsonl"):
            row = json_of(line, "data/papers.jsonl")
            if row.get("state") != "made":
                continue
            if row.get("digest") not in present:
                raise BadExport(f"The paper {str(row.get('digest'))[:12]} is missing.")
            self.done.papers += 1
