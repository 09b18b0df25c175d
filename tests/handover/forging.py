"""Exports that were changed, and sealed again by somebody who is not the portal."""

import hashlib
import io
import json
import zipfile

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from readiness.evidence.notes import b64
from readiness.evidence.signing import private_key, public_of, public_pem
from readiness.handover import KEY, MANIFEST, SIGNATURE, SUMS
from readiness.models import User
from readiness.models.freeze import without_triggers
from readiness.photos import intake, store
from tests.factories import make_site
from tests.photos.pictures import jpeg, scene
from tests.recorded import record_rows_by_hand

GATE, LAT, LON, PHONE = "Gate code 90210", "-37.123456", "145.654321", "0491 570 006"


def make_site_with_secrets(builder, contact):
    """A site, and a contact, with what does not go to the other side by itself."""
    User.objects.filter(pk=contact.pk).update(phone=PHONE)
    return make_site(builder, access_notes=GATE, latitude=LAT, longitude=LON)


def give_bytes(site):
    """The factories make rows only; give such photos originals that are really there."""
    for number, photo in enumerate(site.photos.kept().select_related("original"), 10):
        if not store.exists(photo.original.storage_name):
            restore_bytes(photo, number)
    record_rows_by_hand(changed=True)


def restore_bytes(photo, number):
    kept = intake.receive(
        io.BytesIO(jpeg(scene(number))), site=photo.site, uploaded_by=photo.uploaded_by
    )
    photo.original = kept.original
    with without_triggers():
        photo.save()
        kept.delete()


def rewritten(path, target, change):
    """A copy of the export in which ``change(name, content)`` gives each file's new content."""
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            content = change(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
    return target


def changed_rows(file, change):
    """For `rewritten`: `change(row)` changes each row of data/<file>.jsonl in place."""

    def rewrite(name, content):
        if name != f"data/{file}.jsonl":
            return content
        rows = [json.loads(line) for line in content.splitlines()]
        for row in rows:
            change(row)
        return lines(rows)

    return rewrite


def lines(rows) -> bytes:
    return b"".join(
        json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode() + b"\n"
        for row in rows
    )


def files_of(path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as bundle:
        return {name: bundle.read(name) for name in bundle.namelist()}


def resealed(path, private=None, *, whole=True):
    """The same export with its sums, key and signature made to fit, as a forger would.

    Not `whole`: with the portal's own key, and the manifest left as it is.
    """
    private = private or (Ed25519PrivateKey.generate() if whole else private_key())
    files = files_of(path)
    for name in (SUMS, SIGNATURE):
        files.pop(name, None)
    public = b64(public_of(private))
    manifest = json.loads(files.get(MANIFEST, b"{}")) if whole else {}
    if manifest.get("signing_key"):
        files[MANIFEST] = json.dumps({**manifest, "signing_key": public}).encode()
        files[KEY] = public_pem(public).encode()
    sums = "".join(f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in files.items()).encode()
    with zipfile.ZipFile(path, "w") as bundle:
        for name, content in {**files, SUMS: sums, SIGNATURE: private.sign(sums)}.items():
            bundle.writestr(name, content)
    return path


SINCE = {
    "data/messages.jsonl": "state attempts next_try_at claimed_by started_at given_up_at "
    "handed_over_at unsure invitation_id",
    "data/papers.jsonl": "next_try_at claimed_by given_up_at",
    "data/photos.jsonl": "referral_id referral_decision_id",
    "data/bookings.jsonl": "put_off_at",
    "data/originals.jsonl": "sizes_attempts sizes_next_try_at sizes_given_up_at",
}
"""Columns that version 0.1 did not have."""
NOT_YET = (
    "checkpoint.txt", "record.json", "signing_key.pem", "SHA256SUMS.sig", "data/said.jsonl",
    "data/commitments.jsonl", "data/referrals.jsonl", "data/decisions.jsonl",
    "data/put_offs.jsonl",
)  # fmt: skip


def as_version_0_1_wrote_it(path, target):
    """The export without what came since, and by the name of its format."""
    files = {name: content for name, content in files_of(path).items() if name not in NOT_YET}
    for name, columns in SINCE.items():
        rows = [json.loads(line) for line in files[name].splitlines()]
        for row in rows:
            for column in columns.split():
                del row[column]
        files[name] = lines(rows)
    previous, entries = "0" * 64, []
    for line in files["record.jsonl"].splitlines():
        entry = {**json.loads(line), "previous": previous}
        entry.pop("rows", None)
        entries.append(entry)
        previous = hashlib.sha256(lines([entry])[:-1]).hexdigest()
    files["record.jsonl"] = lines(entries)
    manifest = json.loads(files[MANIFEST])
    del manifest["signing_key"], manifest["left_out"]
    manifest |= {"format": "site-export-1", "record_last_sha256": previous}
    files[MANIFEST] = json.dumps(manifest).encode()
    del files[SUMS]
    sums = "".join(f"{hashlib.sha256(c).hexdigest()}  {n}\n" for n, c in files.items())
    with zipfile.ZipFile(target, "w") as bundle:
        for name, content in {**files, SUMS: sums.encode()}.items():
            bundle.writestr(name, content)
    return target
