"""What lies where in a folder of back-ups, and reading it back."""

import json
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from readiness.operations import FORMAT, READ, Trouble

SHELF = "files"
FILES, MANIFEST, SUMS = "files.jsonl", "manifest.json", "SHA256SUMS"
SECRET_KEY, SIGNING_KEY = "secret_key", "signing_key"
UNFINISHED = ".unfinished-"
NAME = re.compile(r"\d{4}-\d\d-\d\dT\d\d-\d\d-\d\dZ(-\d+)?")
STORES = ("photos", "papers")
DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class StoredFile:
    """A file that the database names: its store (``photos`` or ``papers``), name there, digest."""

    store: str
    name: str
    sha256: str
    byte_size: int | None

    @property
    def line(self) -> bytes:
        return json.dumps(asdict(self), sort_keys=True).encode() + b"\n"


def shelved(sha256: str) -> str:
    """Where a file's bytes lie in the folder of back-ups."""
    return f"{SHELF}/{sha256[:2]}/{sha256}"


def name_at(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H-%M-%SZ")


def whole_ones(folder: Path) -> list[str]:
    """The names of the back-ups in a folder, the oldest first. Unfinished ones have no name."""
    if not folder.is_dir():
        return []
    return sorted(
        path.name
        for path in folder.iterdir()
        if NAME.fullmatch(path.name) and (path / MANIFEST).is_file()
    )


def find(folder: Path, which: str = "") -> Path:
    """One back-up of the folder, the latest unless `which` names another. Raises ``Trouble``."""
    names = whole_ones(folder)
    if not names:
        raise Trouble(f"There is no whole back-up in {folder}.")
    if which and which not in names:
        listed = "\n".join(f"  {name}" for name in names)
        raise Trouble(f"There is no back-up {which} in {folder}. These are there:\n{listed}")
    return folder / (which or names[-1])


def manifest_of(backup: Path) -> dict:
    """The manifest of a back-up, if this version can read it. Raises ``Trouble``."""
    try:
        manifest = json.loads((backup / MANIFEST).read_text())
        made_with = manifest["format"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise Trouble(f"{backup / MANIFEST} can't be read: {error}") from error
    if made_with not in READ:
        raise Trouble(f"{backup} has the format {made_with}; this version reads up to {FORMAT}.")
    manifest.setdefault("signing_key", {"kept": False, "id": ""})
    return manifest


def files_of(backup: Path) -> Iterator[StoredFile]:
    """The files that a back-up lists. Raises ``Trouble`` at a line that makes no sense."""
    with (backup / FILES).open() as lines:
        for number, line in enumerate(lines, 1):
            try:
                yield _sensible(StoredFile(**json.loads(line)))
            except (ValueError, TypeError, RecursionError) as error:
                raise Trouble(f"Line {number} of {backup / FILES} makes no sense.") from error


def _sensible(file: StoredFile) -> StoredFile:
    if not (DIGEST.fullmatch(file.sha256) and file.name and file.store in STORES):
        raise ValueError(file)
    return file
