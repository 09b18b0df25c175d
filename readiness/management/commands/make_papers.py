"""Writes the papers of sites as PDF files, for people who script."""

import uuid
from collections.abc import Iterable
from pathlib import Path

from django.core.files.storage import storages
from django.core.management.base import BaseCommand, CommandError
from django.utils.text import slugify

from readiness.models import Paper, Site
from readiness.papers.render import render_paper


class Command(BaseCommand):
    help = (
        "Write the papers of sites into a folder: one folder a site, every edition. A paper that "
        "is made already is copied as it is; another is made now, and not stored. The same papers "
        "give the same bytes every time, in one version of the portal."
    )

    def add_arguments(self, parser):
        parser.add_argument("sites", nargs="*", help="Site ids or job numbers; all by default.")
        parser.add_argument("--out", required=True, type=Path, help="The folder to write into.")
        parser.add_argument(
            "--again", action="store_true", help="Make every paper again, to compare with those."
        )

    def handle(self, *args, sites, out, again, **options):
        count = 0
        for site in self._sites(sites):
            folder = out / f"{slugify(str(site))[:80]}-{site.pk.hex[:8]}"
            for paper in _papers_of(site):
                content = _content(paper, again)
                folder.mkdir(parents=True, exist_ok=True)
                target = folder / file_name(paper)
                target.write_bytes(content)
                self.stdout.write(str(target))
                count += 1
        self.stdout.write(self.style.SUCCESS(f"{count} papers written to {out}"))

    def _sites(self, wanted: list[str]) -> Iterable[Site]:
        sites = Site.objects.select_related("builder").order_by("created_at", "pk")
        if not wanted:
            return sites
        found = []
        for name in wanted:
            matching = list(
                sites.filter(pk=name) if _is_id(name) else sites.filter(job_number=name)
            )
            if not matching:
                raise CommandError(f"There is no site with the id or job number “{name}”.")
            found += matching
        return found


def file_name(paper: Paper) -> str:
    """Kind, trade, report and edition: its own name among the papers of a site."""
    parts = [paper.kind.replace("_", "-"), paper.trade]
    if paper.report_id:
        parts.append(f"report-{paper.report.number}")
    about = paper.confirmation_id or paper.booking_id
    if about:
        parts.append(about.hex[:8])
    parts.append(f"edition-{paper.edition}")
    return "-".join(part for part in parts if part) + ".pdf"


def _papers_of(site: Site) -> Iterable[Paper]:
    papers = site.papers.select_related(
        "site__builder", "report", "confirmation__report", "booking__confirmation", "trade_link",
        "checkpoint__key",
    )  # fmt: skip
    return papers.order_by("subject")


def _content(paper: Paper, again: bool) -> bytes:
    if paper.state == Paper.State.MADE and not again:
        with storages["papers"].open(paper.storage_name) as stored:
            return stored.read()
    return render_paper(paper).content


def _is_id(name: str) -> bool:
    try:
        uuid.UUID(name)
    except ValueError:
        return False
    return True
