"""Exports that wait for an owner: checked, in a folder of READINESS_DATA, nothing of them stored.

`import_site` puts a file there. What an import would do is worked out anew whenever it is shown,
as things may have changed here meanwhile.
"""

import hashlib
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from readiness.actions.permission import require_owner
from readiness.handover import BadExport
from readiness.handover.restore import Plan, import_site, plan_import
from readiness.models import Site, User

DIGEST = re.compile(r"[0-9a-f]{64}")
MOST = 20
"""So many wait at once: each is checked anew when the list is shown."""


@dataclass(frozen=True)
class Waiting:
    """One file, named by its SHA-256: `plan`, or `trouble` where it would be refused now."""

    digest: str
    since: datetime
    plan: Plan | None = None
    trouble: str = ""


def folder() -> Path:
    return Path(settings.READINESS_DATA) / "imports"


def put(path: Path) -> tuple[str, Plan]:
    """Copy a file to where it waits, once it is checked. Raises BadExport and OSError."""
    folder().mkdir(mode=0o750, parents=True, exist_ok=True)
    if sum(1 for _ in _files()) >= MOST:
        raise BadExport(f"{MOST} exports wait already. Approve or discard some first.")
    handle, copy = tempfile.mkstemp(prefix=".coming-", dir=folder())
    try:
        with os.fdopen(handle, "wb") as out, path.open("rb") as source:
            shutil.copyfileobj(source, out, 1 << 20)
        plan = plan_import(Path(copy))
        digest = _digest(Path(copy))
        os.replace(copy, _file(digest))
    finally:
        Path(copy).unlink(missing_ok=True)
    return digest, plan


def waiting() -> list[Waiting]:
    """Those that wait, the oldest first."""
    return sorted((_look(path) for path in _files()), key=lambda one: one.since)


def approve(owner: User, digest: str) -> Site:
    """Bring it in. Raises BadExport where it is gone, or is refused now."""
    require_owner(owner)
    path = _there(digest)
    if _digest(path) != digest:
        raise BadExport("The file is not the one that was checked.")
    site = import_site(path, approved_by=owner)
    path.unlink(missing_ok=True)
    return site


def discard(owner: User, digest: str) -> None:
    require_owner(owner)
    _there(digest).unlink(missing_ok=True)


def _there(digest: str) -> Path:
    if not DIGEST.fullmatch(digest) or not _file(digest).is_file():
        raise BadExport("This export does not wait any more.")
    return _file(digest)


def _file(digest: str) -> Path:
    return folder() / f"{digest}.zip"


def _files() -> Iterator[Path]:
    found = folder().glob("*.zip") if folder().is_dir() else ()
    return (path for path in found if DIGEST.fullmatch(path.stem))


def _look(path: Path) -> Waiting:
    since = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    try:
        return Waiting(path.stem, since, plan_import(path))
    except BadExport as error:
        return Waiting(path.stem, since, trouble=str(error))


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
