"""Where a file lies in an export."""

from readiness.models import Original, Paper
from readiness.photos import kinds


def original_name(original: Original) -> str:
    extension = kinds.EXTENSIONS.get(original.media_type, "bin")
    return f"originals/{original.digest}.{extension}"


def paper_name(paper: Paper) -> str:
    parts = (paper.kind, paper.trade, f"edition{paper.edition}", paper.digest[:32])
    return f"papers/{'-'.join(part for part in parts if part)}.pdf"
