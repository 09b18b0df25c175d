"""Asking an RFC 3161 authority when something was there, and checking what it answers.

The answer is held against what was asked: granted, this content's SHA-256, this question's nonce.
Whether the authority is one to believe goes by its certificates: `openssl ts -verify` asks that
of whoever relies on it (DEVELOPERS.md).
"""

import hashlib
import urllib.error
import urllib.request
from dataclasses import dataclass
from datetime import UTC, datetime
from urllib.parse import urlsplit

from rfc3161_client import (
    HashAlgorithm,
    PKIStatus,
    TimestampRequestBuilder,
    decode_timestamp_response,
)

SECONDS = 20
LONGEST_BYTES = 200_000
SCHEMES = ("https", "http")
"""An answer is signed, so that http loses nothing but that somebody may keep it from coming."""

GRANTED = (PKIStatus.GRANTED, PKIStatus.GRANTED_WITH_MODS)


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """Only the address of the settings is asked, wherever it would send us."""

    def redirect_request(self, *args, **kwargs):
        return None


_OPENER = urllib.request.build_opener(_NoRedirect)


class NotStamped(Exception):
    """The authority answered, and the answer is of no use; the text says why."""

    passing = True


@dataclass(frozen=True)
class Stamp:
    """The authority's whole answer (DER), and the time in it."""

    answer: bytes
    at: datetime


def ask(content: bytes, url: str) -> Stamp:
    """Have the content's SHA-256 stamped now. Slow: call it with nothing locked.

    Raises OSError where the authority does not answer, NotStamped where its answer is of no use.
    """
    if urlsplit(url).scheme not in SCHEMES:
        raise NotStamped(f"{url[:80]} is no address that starts with https.")
    question = TimestampRequestBuilder().data(content).hash_algorithm(HashAlgorithm.SHA256).build()
    request = urllib.request.Request(  # noqa: S310  only the schemes above
        url,
        data=question.as_bytes(),
        headers={
            "Content-Type": "application/timestamp-query",
            "Accept": "application/timestamp-reply",
        },
    )
    with _OPENER.open(request, timeout=SECONDS) as reply:
        answer = reply.read(LONGEST_BYTES + 1)
    if len(answer) > LONGEST_BYTES:
        raise NotStamped("the answer is too long to be a timestamp.")
    return Stamp(answer, stamped_at(content, answer, question.nonce))


def stamped_at(content: bytes, answer: bytes, nonce: int | None = None) -> datetime:
    """The time that the answer gives for this content. Raises NotStamped where it gives none."""
    try:
        response = decode_timestamp_response(answer)
    except ValueError as error:
        raise NotStamped("the answer is no timestamp.") from error
    if response.status not in GRANTED:
        why = " ".join(response.status_string) or PKIStatus(response.status).name.lower()
        raise NotStamped(f"the authority refused: {why[:200]}")
    info = response.tst_info
    if info.message_imprint.message != hashlib.sha256(content).digest():
        raise NotStamped("the answer is a timestamp of something else.")
    if nonce is not None and info.nonce != nonce:
        raise NotStamped("the answer is one to another question.")
    return info.gen_time.astimezone(UTC)
