"""Checks an export: every digest, the signature, the Record's chain, and each row by the Record."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from readiness.evidence.notes import b64
from readiness.handover import BadExport
from readiness.handover.verify import Verified, verify_export
from readiness.models import SigningKey


class Command(BaseCommand):
    help = "Check an exported site; names the first thing that is wrong."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file, **options):
        try:
            done = verify_export(file)
        except BadExport as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"Whole: {done.manifest['address']}, {done.files} files, {done.entries} entries, "
            f"{done.rows} rows, {done.photos} photos ({done.deleted} of them deleted, with their "
            f"entry) and {done.papers} papers checked.\n"
            f"The Record ends with {done.manifest['record_last_sha256']}"
        )
        self.stdout.write(_seal(done))
        if done.checkpoint:
            note = done.checkpoint
            self.stdout.write(
                f"It carries the checkpoint of {note.at:%d %b %Y, %H:%M} UTC over {note.size} "
                "entries. To hold it against the Record here: verify_record --against FILE"
            )
        if done.left_out:
            self.stdout.write(f"Left out: {', '.join(done.left_out)}")
        for name in done.missing:
            self.stderr.write(f"Was missing when it was made: {name}")


def _seal(done: Verified) -> str:
    """Whose key signed it, as far as this installation knows."""
    if not done.key:
        return "Of an earlier version: not signed, and its rows are not compared with the Record."
    try:
        known = SigningKey.objects.filter(public=b64(done.key)).exists()
    except DatabaseError:
        return f"Signed with the key {done.key_id}. Whose it is can't be told without a database."
    if known:
        return f"Signed with this portal's key {done.key_id}."
    return (
        f"Signed with the key {done.key_id}, a key that this portal does not know. Compare it "
        "with the public key of the portal that it should come from."
    )
