"""Signs the root over all Record entries, and writes it into a file to keep elsewhere."""

import base64
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from readiness.evidence import checkpoints
from readiness.evidence.signing import BadKey
from readiness.models import Timestamp
from readiness.operations import disk


class Command(BaseCommand):
    help = (
        "Make a checkpoint where Record entries came since the last one: the root over all of "
        "them, signed. Keep its file where nobody who can change the portal's database can "
        "change it, too."
    )

    def add_arguments(self, parser):
        parser.add_argument("--out", type=Path, metavar="FILE", help="Write the newest one there.")
        parser.add_argument(
            "--timestamp", type=Path, metavar="FILE",
            help="Write the newest timestamp of an authority there, and what it stamped beside it.",
        )  # fmt: skip

    def handle(self, *args, out, timestamp, **options):
        try:
            made = checkpoints.make(checkpoints.Reason.COMMAND)
        except (BadKey, checkpoints.HistoryChanged) as error:
            raise CommandError(str(error)) from error
        if made is None:
            raise CommandError("There is nothing to sign yet: no Record has an entry.")
        note = checkpoints.note_of(made)
        if out:
            _write(out, note.as_file().encode())
        self.stdout.write(f"Checkpoint {made.number}: {made.size} entries, root {made.root}")
        if timestamp:
            self._write_timestamp(timestamp)

    def _write_timestamp(self, path: Path) -> None:
        stamp = Timestamp.objects.filter(state=Timestamp.State.MADE).order_by("checkpoint").last()
        if stamp is None:
            raise CommandError(
                "No authority has stamped a checkpoint yet. READINESS_TIMESTAMP_URL names one; the "
                "status page says what it answered."
            )
        stamped = path.with_name(f"{path.name}.text")
        _write(path, base64.b64decode(stamp.answer))
        _write(stamped, checkpoints.note_of(stamp.checkpoint).signed)
        self.stdout.write(
            f"Timestamp of checkpoint {stamp.checkpoint.number}, {stamp.stamped_at:%Y-%m-%d %H:%M} "
            f"UTC. Check it with the authority's certificates:\n"
            f"openssl ts -verify -in {path} -data {stamped} -CAfile AUTHORITY.pem"
        )


def _write(path: Path, content: bytes) -> None:
    try:
        disk.write_whole(path, [content], mode=0o644)
    except OSError as error:
        raise CommandError(f"{path} can't be written: {error.strerror}.") from error
