"""Writing the export of a site: one zip, whole or not at all."""

import hashlib
import json
import os
import tempfile
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

from django.core.files.storage import storages
from django.template.loader import render_to_string

from readiness import clock
from readiness.handover import FORMAT, GENESIS, INDEX, MANIFEST, README, RECORD, SUMS
from readiness.handover.contents import PARTS, rows_of
from readiness.handover.names import original_name, paper_name
from readiness.handover.pages import index_context
from readiness.handover.rows import to_plain
from readiness.models import Original, Paper, Photo, RecordEntry, Site
from readiness.photos import sizes, store

CHUNK_BYTES = 1 << 20
# The same rows always give the same bytes: zip times are set, not taken from the clock.
ZIP_TIME = (1980, 1, 1, 0, 0, 0)


@dataclass
class Written:
    """What an export holds."""

    photos: int = 0
    papers: int = 0
    entries: int = 0
    record_digest: str = GENESIS
    missing: list[str] = field(default_factory=list)


def export_site(site: Site, out: Path) -> Written:
    """Write everything about a site to ``out``. Raises ``OSError`` when it can't be written.

    A file already there is replaced only once the new one is complete. Files that should be there
    and are not are named in ``missing`` and in the manifest.
    """
    handle, partial = tempfile.mkstemp(prefix=".export-", dir=out.parent)
    try:
        with os.fdopen(handle, "wb") as raw, zipfile.ZipFile(raw, "w") as bundle:
            written = _Writer(bundle).write(site)
        os.chmod(partial, 0o640)
        os.replace(partial, out)
    except BaseException:
        Path(partial).unlink(missing_ok=True)
        raise
    return written


class _Writer:
    def __init__(self, bundle: zipfile.ZipFile):
        self.bundle, self.sums, self.done = bundle, [], Written()

    def write(self, site: Site) -> Written:
        self._record(site)
        self._originals(site)
        self._pictures(site)
        self._papers(site)
        for part in PARTS:
            rows = (_line(to_plain(row, without=part.without)) for row in rows_of(site, part))
            self._add(f"data/{part.name}.jsonl", rows)
        notify = [str(user) for user in site.notify.order_by("user").values_list("user", flat=True)]
        self._add("data/notify.json", [_line(notify)])
        self._add(INDEX, [render_to_string("handover/index.html", index_context(site)).encode()])
        self._add(README, [render_to_string("handover/README.txt", {"site": site}).encode()])
        self._add(MANIFEST, [json.dumps(self._manifest(site), indent=1).encode() + b"\n"])
        sums = "".join(f"{digest}  {name}\n" for digest, name in self.sums)
        self._add(SUMS, [sums.encode()])
        return self.done

    def _add(self, name: str, chunks, *, packed: bool = True) -> str:
        """Add one file from chunks of bytes and note its digest."""
        info = zipfile.ZipInfo(name, ZIP_TIME)
        info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        info.external_attr = 0o644 << 16
        digest = hashlib.sha256()
        with self.bundle.open(info, "w", force_zip64=True) as out:
            for chunk in chunks:
                digest.update(chunk)
                out.write(chunk)
        self.sums.append((digest.hexdigest(), name))
        return digest.hexdigest()

    def _record(self, site: Site) -> None:
        def lines():
            entries = RecordEntry.objects.filter(site=site).order_by("sequence")
            for entry in entries.iterator(chunk_size=500):
                self.done.entries += 1
                self.done.record_digest = entry.digest
                yield entry.canonical() + b"\n"

        self._add(RECORD, lines())

    def _originals(self, site: Site) -> None:
        kept = Original.objects.filter(photos__site=site, deleted_at=None).distinct()
        for original in kept.order_by("digest").iterator(chunk_size=500):
            try:
                with store.open_file(original.storage_name) as stored:
                    self._add(original_name(original), _chunks(stored), packed=False)
            except OSError:
                self.done.missing.append(original_name(original))

    def _pictures(self, site: Site) -> None:
        photos = Photo.objects.filter(site=site).kept().with_originals().order_by("pk")
        for photo in photos.iterator(chunk_size=200):
            try:
                with sizes.open_size(photo, "large") as stored:
                    self._add(f"pictures/{photo.pk}.jpg", _chunks(stored), packed=False)
                self.done.photos += 1
            except sizes.SizesError:
                self.done.missing.append(f"pictures/{photo.pk}.jpg")

    def _papers(self, site: Site) -> None:
        for paper in Paper.objects.filter(site=site).made().order_by("made_at", "pk"):
            try:
                with storages["papers"].open(paper.storage_name, "rb") as stored:
                    self._add(paper_name(paper), _chunks(stored), packed=False)
                self.done.papers += 1
            except OSError:
                self.done.missing.append(paper_name(paper))

    def _manifest(self, site: Site) -> dict:
        return {
            "format": FORMAT,
            "site": str(site.pk),
            "address": site.address,
            "made_at": clock.now().isoformat(timespec="seconds"),
            "photos": self.done.photos,
            "papers": self.done.papers,
            "record_entries": self.done.entries,
            "record_last_sha256": self.done.record_digest,
            "missing": self.done.missing,
        }


def _chunks(file):
    while chunk := file.read(CHUNK_BYTES):
        yield chunk


def _line(data) -> bytes:
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return text.encode() + b"\n"
