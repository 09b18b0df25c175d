"""Writes everything about a site into one zip, for a dispute or a hand-over."""

from dataclasses import fields
from pathlib import Path

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from readiness.evidence.signing import BadKey
from readiness.handover.along import WHOLE, Along
from readiness.handover.export import export_site
from readiness.models import Site


class Command(BaseCommand):
    help = (
        "Export a site: originals, papers, the Record, digests, and an index to read offline; "
        "all of it for the own archive, or a part for the other side."
    )

    def add_arguments(self, parser):
        parser.add_argument("site", help="The site's id, its job number, or words of its address.")
        parser.add_argument("--out", required=True, type=Path, help="The zip file to write.")
        parser.add_argument(
            "--other-side",
            action="store_true",
            help="For the other side: without positions, original photo files, notes on access, "
            "phone numbers and e-mail addresses.",
        )
        parser.add_argument(
            "--with",
            nargs="+",
            default=[],
            dest="along",
            choices=[choice.name for choice in fields(Along)],
            help="With --other-side: what goes along all the same.",
        )

    def handle(self, *, site, out, other_side, along, **options):
        if along and not other_side:
            raise CommandError("--with goes with --other-side only: a whole export has everything.")
        found = find_site(site)
        chosen = Along.of(along) if other_side else WHOLE
        try:
            done = export_site(found, out, chosen)
        except BadKey as error:
            raise CommandError(f"The export can't be signed. {error}") from error
        except OSError as error:
            raise CommandError(f"{out} can't be written: {error.strerror or error}.") from error
        self.stdout.write(
            f"{out}: {found.address}, {done.photos} photos, {done.papers} papers, "
            f"{done.entries} entries. The Record's last digest is {done.record_digest}"
        )
        for name in done.missing:
            self.stderr.write(f"Missing here, so missing there: {name}")


def find_site(words: str) -> Site:
    """The one site that the words mean. Raises ``CommandError``."""
    try:
        return Site.objects.get(pk=words)
    except (Site.DoesNotExist, ValidationError):
        found = list(Site.objects.matching(words)[:6])
    if len(found) == 1:
        return found[0]
    if not found:
        raise CommandError(f"No site matches “{words}”.")
    listed = "\n".join(f"  {site.pk}  {site}" for site in found)
    raise CommandError(f"Several sites match “{words}”. Give one id:\n{listed}")
