"""Checking a back-up where it lies: every digest of its list, and that the list is whole."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from readiness.operations import Trouble, disk
from readiness.operations.layout import (
    FILES,
    MANIFEST,
    SECRET_KEY,
    SIGNING_KEY,
    SUMS,
    files_of,
    manifest_of,
    shelved,
)

LINE = re.compile(r"([0-9a-f]{64})  (\S.*)")


@dataclass
class Verified:
    """What was read, what the back-up says of itself, and a sentence for each fault."""

    path: Path
    manifest: dict
    files: int = 0
    faults: list[str] = field(default_factory=list)


def verify_backup(backup: Path) -> Verified:
    """Read all of a back-up and compare. Raises ``Trouble`` when it can't be read at all."""
    verified = Verified(backup, manifest_of(backup))
    try:
        expected = _expected(backup, verified.manifest)
        listed = dict(_listed(backup))
    except OSError as error:
        raise Trouble(f"{backup} can't be read: {error}") from error
    for name in sorted(expected - listed.keys()):
        verified.faults.append(f"{name} is not in the digest list.")
    for name in sorted(listed.keys() - expected):
        verified.faults.append(f"{name} is in the digest list, and does not belong to it.")
    for name in sorted(listed.keys() & expected):
        verified.files += 1
        if fault := _fault(backup / name, listed[name]):
            verified.faults.append(f"{name} {fault}")
    return verified


def _expected(backup: Path, manifest: dict) -> set[str]:
    """The names that the digest list must have, by the back-up's other lists."""
    absent = {one["sha256"] for one in manifest["missing"]}
    names = {FILES, MANIFEST, manifest["database"]["file"]}
    names |= {key for key in (SECRET_KEY, SIGNING_KEY) if manifest[key]["kept"]}
    on_shelf = {file.sha256 for file in files_of(backup)} - absent
    return names | {f"../{shelved(digest)}" for digest in on_shelf}


def _listed(backup: Path) -> Iterator[tuple[str, str]]:
    with (backup / SUMS).open() as lines:
        for number, line in enumerate(lines, 1):
            found = LINE.fullmatch(line.rstrip("\n"))
            if not found:
                raise Trouble(f"Line {number} of {backup / SUMS} makes no sense.")
            yield found[2], found[1]


def _fault(path: Path, digest: str) -> str:
    try:
        if disk.digest_of(path) != digest:
            return "was changed: its digest does not match."
    except FileNotFoundError:
        return "is missing."
    except OSError as error:
        return f"can't be read: {error.strerror or error}."
    return ""
