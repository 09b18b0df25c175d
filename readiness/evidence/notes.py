"""What is signed: a small text, and the forms in which it leaves the portal with its signature.

    site-readiness checkpoint 1
    portal https://ready.example.com
    size 1234
    root <the root, base64>
    time 2027-03-31T01:02:03.456789Z

Each line ends with a line feed. The signature is Ed25519 (RFC 8032) over these bytes as they stand.
A file has an empty line after them, then `key` and `signature` in base64; an e-mail has the same
values in one header. DEVELOPERS.md says how to check both with openssl alone.
"""

import base64
import binascii
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

FIRST_LINE = "site-readiness checkpoint 1"
HEADER = "Readiness-Checkpoint"
HEADER_VERSION = "1"
PORTAL = re.compile(r"[!-:<-~]{1,300}")
SIZE = re.compile(r"[1-9][0-9]{0,17}")
TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")
LONGEST = 4000
"""No note is longer: what claims to be one and is, is not read."""


class BadNote(ValueError):
    """The text is no checkpoint, or not whole."""


def b64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def unb64(text: str, length: int) -> bytes:
    """So many bytes from base64. Raises BadNote where they are not that many, or none."""
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise BadNote("not base64") from error
    if len(data) != length or b64(data) != text:
        raise BadNote(f"not {length} bytes in base64")
    return data


def moment(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


@dataclass(frozen=True)
class Note:
    """A signed root: `key` is the public key in DER (44 bytes), nothing says that it is ours."""

    portal: str
    size: int
    root: bytes
    at: datetime
    key: bytes
    signature: bytes

    KEY_BYTES = 44
    SIGNATURE_BYTES = 64

    @property
    def signed(self) -> bytes:
        """The bytes that the signature is over."""
        return signed_text(self.portal, self.size, self.root, self.at)

    def as_file(self) -> str:
        return f"{self.signed.decode()}\nkey {b64(self.key)}\nsignature {b64(self.signature)}\n"

    def as_header(self) -> str:
        """The value of the header, which mail programs may fold at its blanks."""
        values = "; ".join(f"{name}={value}" for name, value in self.values().items())
        return f"{HEADER_VERSION}; {values}"

    def values(self) -> dict[str, str]:
        """Everything, as texts."""
        return {
            "portal": self.portal,
            "size": str(self.size),
            "root": b64(self.root),
            "time": moment(self.at),
            "key": b64(self.key),
            "signature": b64(self.signature),
        }

    @classmethod
    def of_values(cls, values: Mapping[str, str]) -> "Note":
        """From what `values` gives. Raises BadNote where anything is missing, more, or amiss."""
        wanted = ("portal", "size", "root", "time", "key", "signature")
        if set(values) != set(wanted) or not all(isinstance(one, str) for one in values.values()):
            raise BadNote("not the six values of a checkpoint")
        if not (PORTAL.fullmatch(values["portal"]) and SIZE.fullmatch(values["size"])):
            raise BadNote("no address or no size")
        return cls(
            values["portal"],
            int(values["size"]),
            unb64(values["root"], 32),
            _time(values["time"]),
            unb64(values["key"], cls.KEY_BYTES),
            unb64(values["signature"], cls.SIGNATURE_BYTES),
        )

    @classmethod
    def of_file(cls, text: str) -> "Note":
        lines = text.replace("\r\n", "\n").removesuffix("\n").split("\n")
        if len(text) > LONGEST or len(lines) != 8 or lines[0] != FIRST_LINE or lines[5]:
            raise BadNote("not the lines of a checkpoint")
        return cls.of_values(dict(_pair(line, " ") for line in lines[1:5] + lines[6:]))

    @classmethod
    def of_header(cls, value: str) -> "Note":
        """From a header's value, folded or not."""
        version, *parts = " ".join(value.split()).split("; ")
        if version != HEADER_VERSION or len(value) > LONGEST:
            raise BadNote("another version of the header")
        return cls.of_values(dict(_pair(part, "=") for part in parts))


def signed_text(portal: str, size: int, root: bytes, at: datetime) -> bytes:
    lines = (
        FIRST_LINE,
        f"portal {portal}",
        f"size {size}",
        f"root {b64(root)}",
        f"time {moment(at)}",
    )
    return "".join(f"{line}\n" for line in lines).encode()


_HEADERS = re.compile(rf"^{HEADER}:((?:.*)(?:\r?\n[ \t].*)*)", re.MULTILINE | re.IGNORECASE)


def headers_in(text: str) -> Iterator[str]:
    """The values of each checkpoint header in a text: one e-mail, or a log of many."""
    for found in _HEADERS.finditer(text):
        yield found[1].strip()


def _pair(text: str, sign: str) -> tuple[str, str]:
    name, _, value = text.partition(sign)
    return name, value


def _time(text: str) -> datetime:
    if not TIME.fullmatch(text):
        raise BadNote("no time")
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        raise BadNote("no time") from error
