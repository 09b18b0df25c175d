"""Writing the export of a site: one zip, whole or not at all."""

import hashlib
import json
import os
import tempfile
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

from django.core.files.storage import storages
from django.db import transaction
from django.template.loader import render_to_string

from readiness import clock, security
from readiness.canonical import canonical
from readiness.evidence import signing
from readiness.evidence.kept import OF_SITES, columns_of
from readiness.evidence.leaves import HIDDEN, column_key
from readiness.evidence.notes import b64
from readiness.evidence.record import lock_site
from readiness.handover import (
    CHECKPOINT,
    FORMAT,
    GENESIS,
    INDEX,
    KEY,
    MANIFEST,
    PROOF,
    README,
    RECORD,
    SIGNATURE,
    SUMS,
    proof,
)
from readiness.handover.along import WHOLE, Along
from readiness.handover.contents import PARTS, rows_of
from readiness.handover.names import original_name, paper_name
from readiness.handover.pages import index_context
from readiness.handover.replayed import FILES
from readiness.handover.rows import to_plain
from readiness.models import (
    Commitment,
    Original,
    Paper,
    Photo,
    RecordEntry,
    Said,
    SecurityKind,
    Site,
    User,
)
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


def export_site(site: Site, out: Path, along: Along = WHOLE, by: User | None = None) -> Written:
    """Write a site to ``out``: everything, or what goes ``along`` to the other side.

    Raises ``OSError`` when it can't be written, ``BadKey`` when it can't be signed. A file already
    there is replaced only once the new one is complete. Files that should be there and are not are
    named in ``missing`` and in the manifest.
    """
    private = signing.private_key()
    handle, partial = tempfile.mkstemp(prefix=".export-", dir=out.parent)
    try:
        with os.fdopen(handle, "wb") as raw, zipfile.ZipFile(raw, "w") as bundle:
            written = _Writer(bundle, along, private).write(site)
        os.chmod(partial, 0o640)
        os.replace(partial, out)
        whole = along.is_whole
        security.note_anyway(SecurityKind.EXPORTED, by, site=str(site.pk), whole=whole)
    except BaseException:
        Path(partial).unlink(missing_ok=True)
        raise
    return written


class _Writer:
    def __init__(self, bundle: zipfile.ZipFile, along: Along, private):
        self.bundle, self.along, self.private = bundle, along, private
        self.sums, self.done = [], Written()
        self.stays = along.stays()

    def write(self, site: Site) -> Written:
        with transaction.atomic():
            lock_site(site.pk)  # rows, Record and checkpoint of one moment
            self._told(site)
        if self.along.originals:
            self._originals(site)
        self._pictures(site)
        self._papers(site)
        self._seal(site)
        return self.done

    def _told(self, site: Site) -> None:
        signing.known(self.private, clock.now())
        proven = proof.of(site)
        self._record(site)
        for part in PARTS:
            without = part.without + self.stays.get(part.name, ())
            rows = (_line(to_plain(row, without=without)) for row in rows_of(site, part))
            self._add(f"data/{part.name}.jsonl", rows)
        self._add("data/said.jsonl", map(_line, _texts(site, salted=self.along.is_whole)))
        self._add("data/commitments.jsonl", map(_line, self._commitments(site)))
        notify = [str(user) for user in site.notify.order_by("user").values_list("user", flat=True)]
        self._add("data/notify.json", [_line(notify)])
        context = index_context(site, self.along)
        self._add(INDEX, [render_to_string("handover/index.html", context).encode()])
        if proven is None:
            self.done.missing.append(CHECKPOINT)
            return
        self._add(CHECKPOINT, [proven.note.as_file().encode()])
        self._add(PROOF, [_line(proven.data)])

    def _seal(self, site: Site) -> None:
        """What says what this is, and the signature over all of it."""
        public = b64(signing.public_of(self.private))
        told = {"site": site, "along": self.along, "format": FORMAT}
        self._add(README, [render_to_string("handover/README.txt", told).encode()])
        manifest = self._manifest(site) | {"signing_key": public}
        self._add(MANIFEST, [json.dumps(manifest, indent=1).encode() + b"\n"])
        self._add(KEY, [signing.public_pem(public).encode()])
        sums = "".join(f"{digest}  {name}\n" for digest, name in self.sums).encode()
        self._add(SUMS, [sums])
        self._add(SIGNATURE, [self.private.sign(sums)])

    def _commitments(self, site: Site):
        """What the digests of rows were made of: with the salt, or with the keys of what goes."""
        kept = Commitment.objects.filter(site=site).order_by("row")
        left_out = set(self._left_out())
        for row, sequence, salt, leaves in kept.values_list(
            "row", "entry__sequence", "salt", "leaves"
        ).iterator():
            line = {"row": row, "sequence": sequence, "leaves": leaves}
            if self.along.is_whole:
                yield line | {"salt": salt}
                continue
            file = FILES[row.split("/")[0]]
            yield line | {
                "keys": {
                    column: column_key(salt, column).hex()
                    for column, leaf in leaves.items()
                    if str(leaf).startswith(HIDDEN) and f"{file}.{column}" not in left_out
                }
            }

    def _left_out(self) -> list[str]:
        """What the Record covers of the site and does not go along."""
        covered = {FILES[kept.name]: set(columns_of(kept, kept.model)) for kept in OF_SITES}
        always = [
            f"{part.name}.{column}"
            for part in PARTS
            for column in part.without
            if column in covered.get(part.name, ())
        ]
        return sorted({*always, *self.along.left_out()})

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
            "left_out": self._left_out(),
        }


def _texts(site: Site, *, salted: bool):
    """What was written with entries, by the entry's number."""
    texts = Said.objects.filter(entry__site=site).order_by("entry__sequence", "name")
    for sequence, name, text, salt in texts.values_list(
        "entry__sequence", "name", "text", "salt"
    ).iterator():
        opens = {"salt": salt} if salted else {"key": column_key(salt, name).hex()}
        yield {"sequence": sequence, "name": name, "text": text} | opens


def _chunks(file):
    while chunk := file.read(CHUNK_BYTES):
        yield chunk


def _line(data) -> bytes:
    return canonical(data) + b"\n"
