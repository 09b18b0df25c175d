"""The one door to the papers: from a stored Paper to the bytes of its PDF."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from readiness.models import Business, Paper
from readiness.papers import (
    annex,
    confirmation,
    fix_list,
    guide,
    pdf,
    photo_record,
    proof,
    sample,
    site_report,
    treatment,
)
from readiness.wording.paper import parts

Kind = Paper.Kind

_DRAFTS: dict[str, Callable[[Paper], pdf.Draft]] = {
    Kind.SITE_REPORT: site_report.draft,
    Kind.FIX_LIST: fix_list.draft,
    Kind.PHOTO_RECORD: photo_record.draft,
    Kind.CONFIRMATION: confirmation.draft,
    Kind.TREATMENT: treatment.draft,
    Kind.GUIDE: guide.draft,
    Kind.RULE_VALUES: annex.draft,
}


@dataclass(frozen=True)
class RenderedPaper:
    """A finished paper: the PDF's bytes and how many pages it has."""

    content: bytes
    pages: int


def render_paper(
    paper: Paper, progress: Callable[[str], None] = lambda words: None
) -> RenderedPaper:
    """Make a paper. `progress` is told in plain words how far it is.

    Reads what the paper is about, and changes nothing. The same paper gives the same bytes.
    """
    progress(parts.progress_reading())
    draft = replace(_DRAFTS[paper.kind](paper), proof=proof.of(paper))
    content, pages = pdf.write(draft, progress)
    return RenderedPaper(content, pages)


def render_sample(kind: str, business: Business) -> RenderedPaper:
    """A paper of this kind about a made-up site, with a business's settings, saved or not."""
    return RenderedPaper(*pdf.write(sample.sample(kind, business)))
