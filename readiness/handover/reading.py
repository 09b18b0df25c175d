"""Opening the zip of an export without trusting it: names, sizes, lines and JSON.

Uses nothing but the standard library, so that a doubting reader can read all of it.
"""

import json
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import Any

from readiness.handover import BadExport

MOST_BYTES = 64 << 30
MOST_PACKED_BYTES = 1 << 30
"""Of what is compressed in the zip: photos and papers are not, and little can unpack to much."""
MOST_FILES = 200_000
MOST_LINES = 500_000
MOST_LINE_BYTES = 8 << 20
DEEPEST = 60
"""So far may JSON be nested: what we write is never half as deep."""
_NOT_WHOLE = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, EOFError, NotImplementedError,
)  # fmt: skip
_HALF_A_CHARACTER = re.compile(rb"\\u[dD][89a-fA-F]")


@contextmanager
def opened(path: Path) -> Iterator[zipfile.ZipFile]:
    """The zip. Whatever is wrong with the file, while it is read too, raises BadExport."""
    try:
        with zipfile.ZipFile(path) as bundle:
            check_names(bundle)
            yield bundle
    except _NOT_WHOLE as error:
        raise BadExport(f"The file is not a whole zip: {error}.") from error
    except (OSError, RuntimeError) as error:
        raise BadExport(f"The file can't be read: {error}.") from error


def check_names(bundle: zipfile.ZipFile) -> None:
    infos = bundle.infolist()
    names = [info.filename for info in infos]
    if len(names) != len(set(names)):
        raise BadExport("Two files have the same name.")
    packed = sum(info.file_size for info in infos if info.compress_type != zipfile.ZIP_STORED)
    total = sum(info.file_size for info in infos)
    if len(names) > MOST_FILES or total > MOST_BYTES or packed > MOST_PACKED_BYTES:
        raise BadExport("The file unpacks to more than an export can be.")
    for name in names:
        parts = PurePosixPath(name).parts
        unsafe = name.startswith("/") or "\\" in name or ".." in parts or name.endswith("/")
        if unsafe or not name.isprintable():
            raise BadExport(f"A file has a name that no export has: {name!r}.")


def lines_of(bundle: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """Lines of a file in the zip without their line ends."""
    try:
        stream = bundle.open(name)
    except KeyError as error:
        raise BadExport(f"{name} is missing.") from error
    with stream:
        count = 0
        while line := stream.readline(MOST_LINE_BYTES + 1):
            count += 1
            if len(line) > MOST_LINE_BYTES:
                raise BadExport(f"{name} has a line that is too long.")
            if count > MOST_LINES:
                raise BadExport(f"{name} has more lines than an export can have.")
            yield line.rstrip(b"\n")


def bytes_of(bundle: zipfile.ZipFile, name: str, most: int) -> bytes:
    """A small file as a whole."""
    try:
        with bundle.open(name) as stream:
            content = stream.read(most + 1)
    except KeyError as error:
        raise BadExport(f"{name} is missing.") from error
    if len(content) > most:
        raise BadExport(f"{name} is too long.")
    return content


def json_of(line: bytes, name: str) -> Any:
    """What a line says. No text in it holds what a database can't keep."""
    try:
        found = json.loads(line, parse_constant=_no_number)
        if _HALF_A_CHARACTER.search(line):
            json.dumps(found, ensure_ascii=False).encode()
    except (ValueError, RecursionError) as error:
        raise BadExport(f"{name} has a line that is not JSON.") from error
    if b"\\u0000" in line:
        raise BadExport(f"{name} has a text with a character that no text has.")
    if line.count(b"[") + line.count(b"{") > DEEPEST and _depth(found) > DEEPEST:
        raise BadExport(f"{name} has a line that is nested too deep.")
    return found


def row_of(line: bytes, name: str) -> dict[str, Any]:
    row = json_of(line, name)
    if not isinstance(row, dict):
        raise BadExport(f"{name} has a line that is not a row.")
    return row


def rows_in(bundle: zipfile.ZipFile, name: str) -> Iterator[dict[str, Any]]:
    """The rows of data/<name>.jsonl. Raises BadExport for one that can't be named."""
    file = f"data/{name}.jsonl"
    for line in lines_of(bundle, file):
        row = row_of(line, file)
        for column in _names_of(row):
            if isinstance(row[column], list | dict):
                raise BadExport(f"{file} has a line whose {column} is no name of a row.")
        yield row


def _names_of(row: dict[str, Any]) -> set[str]:
    """The columns that name rows."""
    return {column for column in row if column in ("id", "digest") or column.endswith("_id")}


def _no_number(name: str) -> None:
    raise ValueError(f"{name} is no number")


def _depth(data: Any) -> int:
    """How deep it is nested, without recursion."""
    deepest, waiting = 0, [(data, 1)]
    while waiting:
        one, depth = waiting.pop()
        deepest = max(deepest, depth)
        if isinstance(one, dict):
            waiting += [(value, depth + 1) for value in one.values()]
        elif isinstance(one, list):
            waiting += [(value, depth + 1) for value in one]
    return deepest
