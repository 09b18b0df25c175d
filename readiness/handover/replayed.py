"""Comparing the rows of an export with what its own Record says of them last.

As `readiness.evidence.replay` does with the database, but from the zip alone. Each row has a leaf
for each column (`readiness.evidence.leaves`), the leaves give the row's digest, and the digest
stands in the Record. Uses nothing but the standard library.
"""

import re
import zipfile
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from readiness.evidence.leaves import HIDDEN, column_key, digest_of, leaf_of
from readiness.handover import BadExport
from readiness.handover.reading import json_of, lines_of, rows_in

DIGEST = re.compile(r"[0-9a-f]{64}")
FILES = {
    "site": "site", "wall": "wall_runs", "report": "reports", "check": "checks", "item": "items",
    "fix": "fixes", "confirmation": "confirmations", "booking": "bookings", "put_off": "put_offs",
    "link": "trade_links",
    "referral": "referrals", "decision": "decisions", "photo": "photos", "markup": "markup",
    "measurement": "measurements", "paper": "papers",
}  # fmt: skip
"""The file of each table that a site's Record covers."""
KEYS = {"markup": "photo_id"}
"""What names a row in the Record, where it is not its id."""
NOT_HELD = {
    "papers": frozenset(
        {"attempts", "next_try_at", "claimed_by", "given_up_at", "error", "progress"}
    ),
}
"""Columns that the Record does not cover, as they say only how far a worker is."""
FILE_COLUMNS = (
    "byte_size", "media_type", "width_px", "height_px", "orientation", "frames", "metadata",
)  # fmt: skip
"""Of an original, what stands with each photo of it."""


@dataclass
class Told:
    """What the Record says last: of each row, and the digests of the texts of each entry."""

    rows: dict[str, tuple[str | None, int]] = field(default_factory=dict)
    said: dict[tuple[int, str], str] = field(default_factory=dict)

    def read(self, entry: Mapping[str, Any]) -> None:
        """The next entry, whose sequence is right already."""
        sequence = entry["sequence"]
        rows, said = entry.get("rows", {}), entry["data"].get("said", {})
        if not isinstance(rows, dict) or not isinstance(said, dict):
            raise BadExport(f"Entry {sequence} of the Record is not an entry.")
        for row, digest in rows.items():
            if digest is not None and not (isinstance(digest, str) and DIGEST.fullmatch(digest)):
                raise BadExport(f"Entry {sequence} of the Record has a digest that is none.")
            self.rows[row] = (digest, sequence)
        for name, digest in said.items():
            self.said[(sequence, name)] = digest


def check_rows(bundle: zipfile.ZipFile, told: Told, left_out: Collection[str]) -> int:
    """Compare every row and text. Returns how many rows. Raises BadExport with the first break.

    `left_out` are the columns that do not go along ("photos.latitude"): their leaves stand for
    them.
    """
    commitments = _commitments(bundle)
    seen: set[str] = set()
    for table, file in FILES.items():
        more = _MORE.get(table, lambda bundle: {})(bundle)
        for row in rows_in(bundle, file):
            if table == "paper" and row.get("state") != "made":
                continue
            name = f"{table}/{row.get(KEYS.get(table, 'id'))}"
            if name in seen:
                raise BadExport(f"{name} is there twice.")
            seen.add(name)
            values = _held(file, table, row) | {
                column: found(row) for column, found in more.items()
            }
            _check_row(name, file, values, told, commitments.get(name), left_out)
    for name, (digest, sequence) in told.rows.items():
        if digest is not None and name not in seen:
            raise BadExport(f"{name} is missing, of which entry {sequence} tells.")
    _check_texts(bundle, told)
    return len(seen)


def _held(file: str, table: str, row: Mapping[str, Any]) -> dict[str, Any]:
    not_held = NOT_HELD.get(file, frozenset()) | {"id", KEYS.get(table, "id")}
    return {column: value for column, value in row.items() if column not in not_held}


def _check_row(
    name: str, file: str, values: Mapping, told: Told, kept: dict | None, left_out: Collection[str]
) -> None:
    if name not in told.rows:
        raise BadExport(f"{name} stands in no entry of the Record.")
    digest, sequence = told.rows[name]
    if digest is None:
        raise BadExport(f"{name} is there, although entry {sequence} says that it was deleted.")
    if kept is None or digest_of(name, kept["leaves"]) != digest:
        raise BadExport(
            f"{name} can't be compared with entry {sequence}: what its digest was made of is "
            "missing or was changed."
        )
    leaves = kept["leaves"]
    for column in sorted(leaves.keys() | values.keys()):
        if column not in values:
            if f"{file}.{column}" not in left_out:
                raise BadExport(f"{name} has no {column}, of which entry {sequence} tells.")
        elif column not in leaves:
            # A column of a later version, while nobody has changed the row since.
            if values[column] not in (None, "", 0, False, [], {}):
                raise BadExport(f"{name} was changed: entry {sequence} tells of no {column}.")
        elif not _fits(leaves[column], values[column], kept, column):
            raise BadExport(f"{name} was changed since entry {sequence}: {column}.")


def _fits(leaf: Any, value: Any, kept: Mapping, column: str) -> bool:
    if not (isinstance(leaf, str) and leaf.startswith(HIDDEN)):
        return type(leaf) is type(value) and leaf == value
    key = _key(kept, column)
    return key is not None and leaf_of(key, value) == leaf


def _key(kept: Mapping, column: str) -> bytes | None:
    """A column's key: made from the row's salt, or handed out alone."""
    if "salt" in kept:
        return column_key(kept["salt"], column)
    key = kept["keys"].get(column)
    return bytes.fromhex(key) if key else None


def _commitments(bundle: zipfile.ZipFile) -> dict[str, dict]:
    found = {}
    for row in rows_in(bundle, "commitments"):
        salted = _is_hex(row.get("salt"), 32) and "keys" not in row
        keyed = isinstance(row.get("keys"), dict) and all(
            _is_hex(key, 64) for key in row["keys"].values()
        )
        whole = isinstance(row.get("row"), str) and isinstance(row.get("leaves"), dict)
        if not whole or not (salted or (keyed and "salt" not in row)) or row["row"] in found:
            raise BadExport("data/commitments.jsonl has a line that says nothing of a row.")
        found[row["row"]] = row
    return found


def _is_hex(text: Any, length: int) -> bool:
    return isinstance(text, str) and re.fullmatch(rf"[0-9a-f]{{{length}}}", text) is not None


def _check_texts(bundle: zipfile.ZipFile, told: Told) -> None:
    there = set()
    for row in rows_in(bundle, "said"):
        place = (row.get("sequence"), row.get("name"))
        key = _text_key(row)
        if key is None or place not in told.said or place in there:
            raise BadExport(f"The {place[1]} of entry {place[0]} belongs to no entry.")
        if leaf_of(key, row.get("text")) != told.said[place]:
            raise BadExport(f"The {place[1]} that was written with entry {place[0]} was changed.")
        there.add(place)
    for sequence, name in told.said.keys() - there:
        raise BadExport(f"The {name} that was written with entry {sequence} is missing.")


def _text_key(row: Mapping[str, Any]) -> bytes | None:
    name = row.get("name")
    if not isinstance(name, str) or not isinstance(row.get("sequence"), int):
        return None
    if _is_hex(row.get("salt"), 32):
        return column_key(row["salt"], name)
    return bytes.fromhex(row["key"]) if _is_hex(row.get("key"), 64) else None


# What stands in the Record with a row and in the export in another file

Found = Callable[[Mapping[str, Any]], Any]


def _of_photos(bundle: zipfile.ZipFile) -> dict[str, Found]:
    flags = _flags(bundle)
    files = {row.get("digest"): row for row in rows_in(bundle, "originals")}
    more: dict[str, Found] = {"flags": lambda row: flags.get(row.get("id"))}
    # Where a column of the files is left out, so is all of what is made from it.
    if all(set(FILE_COLUMNS) <= row.keys() for row in files.values()):
        more["file"] = lambda row: _file(files.get(row.get("original_id")), row)
    return more


def _file(original: Mapping | None, photo: Mapping) -> dict | None:
    if original is None or photo.get("removed_at") is not None:
        return None
    return {column: original[column] for column in FILE_COLUMNS}


def _flags(bundle: zipfile.ZipFile) -> dict[str, list]:
    photos = {row.get("id") for row in rows_in(bundle, "photos")}
    found: dict[str, list] = {}
    for row in rows_in(bundle, "flags"):
        photo, made_at = row.get("photo_id"), row.get("made_at")
        one = [row.get("code"), row.get("sentence"), row.get("other_photo_id")]
        if photo not in photos or not all(isinstance(text, str) for text in (*one[:2], made_at)):
            raise BadExport("data/flags.jsonl has a flag of no photo.")
        found.setdefault(photo, []).append([*one, _short(made_at)])
    return {photo: sorted(flags, key=_as_texts) for photo, flags in found.items()}


def _as_texts(parts: list) -> list[str]:
    return [str(part) for part in parts]


def _short(made_at: str) -> str:
    """The time as the leaf has it: without a fraction where there is none."""
    try:
        return datetime.fromisoformat(made_at).isoformat()
    except ValueError as error:
        raise BadExport("data/flags.jsonl has a time that is none.") from error


def _of_site(bundle: zipfile.ZipFile) -> dict[str, Found]:
    told = json_of(b"".join(lines_of(bundle, "data/notify.json")), "data/notify.json")
    if not isinstance(told, list) or not all(isinstance(user, str) for user in told):
        raise BadExport("data/notify.json is not a list of people.")
    return {"notify": lambda row: sorted(told) or None}


_MORE: dict[str, Callable[[zipfile.ZipFile], dict[str, Found]]] = {
    "photo": _of_photos,
    "site": _of_site,
}


def more_columns() -> Iterator[str]:
    """Those columns, by file: a test holds them against what the Record covers."""
    yield from ("photos.flags", "photos.file", "site.notify")
