"""Whose file has this digest: what may be said of it to somebody without an account.

No more than the file itself shows: a paper names its site and its time, a photo names neither.
"""

import base64
import binascii
import re
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from readiness.models import Checkpoint, Original, Paper

DIGEST = re.compile(r"[0-9a-f]{64}")
SIZE = re.compile(r"[1-9][0-9]{0,17}")


@dataclass(frozen=True)
class KnownPaper:
    title: str
    report: int | None
    edition: int
    address: str
    made_at: datetime
    zone: ZoneInfo
    """The site's, in which its paper tells times."""


@dataclass(frozen=True)
class KnownPhoto:
    since: datetime
    deleted_at: datetime | None


def clean_digest(text: str) -> str:
    """The digest in what somebody typed or pasted, such as a line of `sha256sum`; "" if none."""
    words = text.strip().lower().split()
    joined = "".join(words)
    for one in (words[0] if words else "", joined):
        if DIGEST.fullmatch(one):
            return one
    return ""


def find(digest: str) -> KnownPaper | KnownPhoto | None:
    """The paper or photo that has the digest."""
    papers = Paper.objects.made().filter(digest=digest).order_by("made_at")
    paper = papers.select_related("site", "report", "confirmation__report").first()
    if paper is not None:
        about = paper.report or (paper.confirmation and paper.confirmation.report)
        return KnownPaper(
            paper.title,
            about.number if about else None,
            paper.edition,
            paper.site.address,
            paper.made_at,
            paper.site.zone,
        )
    original = Original.objects.filter(digest=digest).first()
    return KnownPhoto(original.received_at, original.deleted_at) if original else None


def checkpoint(size: str, root: str) -> Checkpoint | None:
    """The checkpoint that the code on a paper names, if it is one of ours."""
    if not SIZE.fullmatch(size):
        return None
    try:
        found = base64.urlsafe_b64decode(f"{root}=")
    except (binascii.Error, ValueError):
        return None
    return Checkpoint.objects.filter(size=int(size), root=found.hex()).first()
