"""Answering with the bytes of a paper. Whoever calls this has checked who may see it."""

from django.core.files.storage import storages
from django.http import FileResponse
from django.http.response import HttpResponseBase
from django.utils.http import content_disposition_header
from django.utils.text import slugify

from readiness.models import Paper

PDF = "application/pdf"
POLICY = "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
LONGEST_NAME = 150


def file_name(paper: Paper) -> str:
    """A name that tells papers apart in a folder: kind, trade, address, report, edition.

    Of a long name the end of the address goes, never what comes after it.
    """
    trade = paper.get_trade_display() if paper.trade else ""
    where = slugify(f"{paper.get_kind_display()} {trade} {paper.site.street} {paper.site.suburb}")
    which = [f"report-{paper.report.number}"] if paper.report_id else []
    if paper.edition > 1:
        which.append(f"edition-{paper.edition}")
    left = LONGEST_NAME - len("-".join(["", *which]))
    return "-".join([where[:left].rstrip("-"), *which]) + ".pdf"


def serve_paper(paper: Paper, *, download: bool) -> HttpResponseBase:
    """The stored PDF, to look at or to keep; its digest is its ETag, for it never changes.

    Raises ``FileNotFoundError`` where the store has lost it.
    """
    stored = storages["papers"].open(paper.storage_name, "rb")
    response = FileResponse(stored, content_type=PDF)
    response["Content-Disposition"] = content_disposition_header(download, file_name(paper))
    response["ETag"] = f'"{paper.digest}"'
    return protected(response)


def protected(response: HttpResponseBase) -> HttpResponseBase:
    """Nothing guesses another type, no other site embeds it, and no shared cache keeps it.

    The pages' content security policy is not for a PDF: WebKit lays its viewer out with styles of
    its own inside the document, which `default-src 'self'` forbids, and shows it stamp-sized.
    """
    response["Content-Security-Policy"] = POLICY
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    response["Cache-Control"] = "private, no-cache"
    return response
