"""Checks every site's chain and every photo's and paper's digest; names the first break."""

import secrets
import sys
from argparse import ArgumentTypeError
from concurrent.futures import BrokenExecutor
from datetime import datetime, time
from json import dumps as json_text
from pathlib import Path
from time import monotonic
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from readiness.evidence.anchors import Finding, check_against
from readiness.evidence.checking import Checked
from readiness.evidence.verification import BadState, Progress, Scope, verify
from readiness.models import Site

BROKEN, WRONG_CALL, UNREADABLE, STOPPED = 1, 2, 3, 130
TELL_SECONDS = 5

FROM_OUTSIDE = (
    "Whoever holds the database can rewrite all of it so that it fits. Only a file from outside "
    "shows that: an old e-mail, paper, export or checkpoint (--against FILE)."
)


def share(text: str) -> str:
    """A number of sites or a share of them, as typed."""
    number = text.removesuffix("%")
    try:
        value = float(number) if text.endswith("%") else int(number)
    except ValueError:
        value = 0
    if value <= 0 or (text.endswith("%") and value > 100):
        raise ArgumentTypeError(f"“{text}” is no number of sites (500) and no share of them (2%).")
    return text


def day(text: str) -> datetime:
    """The first moment of a day, in the portal's own zone."""
    try:
        found = datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise ArgumentTypeError(f"“{text}” is no date. Write it as 2027-03-31.") from None
    return timezone.make_aware(datetime.combine(found, time.min))


class Command(BaseCommand):
    help = (
        "Check all Record chains and the digests of all photos and papers. Exits with 0 when all "
        "is whole, 1 at the first thing that is not, 3 when the database or the store does not "
        "answer."
    )

    def add_arguments(self, parser):
        parser.add_argument("sites", nargs="*", type=UUID, help="Site ids; all sites by default.")
        parser.add_argument(
            "--since", type=day, metavar="DATE",
            help="Only what was appended, received or made from this day on.",
        )  # fmt: skip
        parser.add_argument(
            "--sample", type=share, metavar="N or P%",
            help="Only so many sites, or such a share of them, drawn by lot.",
        )  # fmt: skip
        parser.add_argument(
            "--seed", type=int, help="Draw the sample of an earlier run, which said its seed."
        )
        parser.add_argument(
            "--records-only", action="store_true", help="Leave out photos and papers."
        )
        parser.add_argument(
            "--json", action="store_true", help="Say what was found as JSON, for programs."
        )
        parser.add_argument(
            "--against", nargs="+", type=Path, default=[], metavar="FILE",
            help="Old papers, e-mails, exports or checkpoint files: say of each what it proves.",
        )  # fmt: skip
        parser.add_argument("--jobs", type=int, default=1, help="Processes that share the work.")
        parser.add_argument(
            "--resume", type=Path, metavar="FILE",
            help="Note here how far the run has come, and go on from there next time.",
        )  # fmt: skip

    def handle(self, *args, sites, since, sample, seed, records_only, jobs, resume, **options):
        if jobs < 1:
            raise CommandError("--jobs: at least 1.", returncode=WRONG_CALL)
        if Site.objects.filter(pk__in=sites).count() < len(set(sites)):
            raise CommandError("There is no site of such an id here.", returncode=WRONG_CALL)
        seed = self._seed(sample, seed, resume)
        scope = Scope(tuple(sites), since, sample or "", seed, not records_only)
        checked = self._verify(scope, jobs, resume)
        findings = check_against(options["against"])
        if options["json"]:
            self.stdout.write(_as_json(checked, findings))
        if checked.found:
            code = UNREADABLE if checked.is_unreadable else BROKEN
            self._tell(findings, options["json"])
            raise CommandError(checked.first_break, returncode=code)
        self._tell(findings, options["json"])
        disproved = [finding for finding in findings if not finding.holds]
        if disproved:
            text = f"{len(disproved)} of {len(findings)} files do not fit what is here."
            raise CommandError(text, returncode=BROKEN)
        if options["json"]:
            return
        words = _words(checked, scope.files)
        self.stdout.write(f"Whole: {words} checked{_limits(scope, checked)}.")
        if not findings:
            self.stdout.write(FROM_OUTSIDE)

    def _verify(self, scope: Scope, jobs: int, resume: Path | None) -> Checked:
        """What was found; raises CommandError where it could not be looked at."""
        told = _Told(self.stderr)
        try:
            return verify(scope, jobs, resume, told)
        except BadState as error:
            raise CommandError(str(error), returncode=WRONG_CALL) from error
        except (DatabaseError, OSError) as error:
            text = f"The database or a file can't be read now: {error}"
            raise CommandError(text, returncode=UNREADABLE) from error
        except BrokenExecutor as error:
            text = "A process was ended from outside, perhaps for want of memory. Try fewer --jobs."
            raise CommandError(text, returncode=UNREADABLE) from error
        except KeyboardInterrupt:
            self.stderr.write(f"Stopped after {_words(told.last.checked)}.")
            sys.exit(STOPPED)

    def _tell(self, findings: list[Finding], as_json: bool) -> None:
        """What each file from outside says; the JSON has it already."""
        for finding in () if as_json else findings:
            self.stdout.write(finding.sentence)

    def _seed(self, sample: str | None, seed: int | None, resume: Path | None) -> int:
        """Of a run that is to go on it has to be known before: 1, unless another is given."""
        if not sample:
            return 0
        if seed is None:
            seed = 1 if resume else secrets.randbelow(10**6)
        self.stderr.write(f"The sample is drawn with --seed {seed}.")
        return seed


class _Told:
    """Says every few seconds how far a run has come."""

    def __init__(self, stderr):
        self.stderr = stderr
        self.last = Progress(Checked())
        self.at = self.started = monotonic()
        self.before: int | None = None

    def __call__(self, progress: Progress) -> None:
        self.last = progress
        if self.before is None:
            self.before = progress.checked.entries  # of an earlier run
            if progress.checked.sites:
                self.stderr.write(f"Goes on after {_words(progress.checked)}.")
        if monotonic() - self.at < TELL_SECONDS:
            return
        self.at = monotonic()
        pace = (progress.checked.entries - self.before) / (self.at - self.started)
        self.stderr.write(
            f"{progress.checked.sites} of {progress.of} sites, {progress.checked.entries} entries, "
            f"{pace:.0f} entries a second"
        )


def _words(checked: Checked, files: bool = True) -> str:
    """The same words for every count: scripts read them."""
    if not files:
        return f"{checked.sites} sites and {checked.entries} entries"
    return (
        f"{checked.sites} sites, {checked.entries} entries, {checked.photos} photos "
        f"and {checked.papers} papers"
    )


def _as_json(checked: Checked, findings: list[Finding]) -> str:
    found = checked.found
    told = {
        "whole": found is None,
        "checked": checked.counts(),
        "break": found.as_json() if found else None,
        "against": [
            {"file": one.name, "result": one.result.value, "words": one.sentence}
            for one in findings
        ],
    }
    return json_text(told)


def _limits(scope: Scope, checked: Checked) -> str:
    """What the run left out, so that nobody takes a part for all of it."""
    left_out = []
    if scope.sample:
        left_out.append(f"a sample of {scope.sample} of the sites")
    if scope.since:
        left_out.append(f"only what came since {scope.since:%Y-%m-%d}")
    if not scope.files:
        left_out.append("photos and papers left out")
    if checked.elsewhere:
        left_out.append(
            f"{checked.elsewhere} photos lie on other machines, still to be moved to the store"
        )
    if not (scope.sites or scope.sample or scope.since):
        missed = Site.objects.count() - checked.sites
        left_out += [f"{missed} sites were added meanwhile"] if missed > 0 else []
    return f" ({'; '.join(left_out)})" if left_out else ""
