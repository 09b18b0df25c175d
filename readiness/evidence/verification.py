"""Checking an installation of any size: in parts, on several processors, to go on another time."""

import hashlib
import json
import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from functools import partial
from itertools import islice
from math import ceil
from pathlib import Path
from uuid import UUID

from django.db import connections

from readiness.evidence import anchors
from readiness.evidence.breaks import Break
from readiness.evidence.checking import Checked, check_business, check_sites
from readiness.models import RecordEntry, Site

FORMAT = 2
SITES_A_PART = 50
PARTS_AHEAD = 4
"""How many parts wait for each process, so that none is idle and few are in vain at a break."""


class BadState(Exception):
    """The file of an earlier run is of another run, or is not whole."""


@dataclass(frozen=True)
class Scope:
    """What to check: all of it, or the sites and things named here.

    `sample` is a number of sites ("500") or a share of them ("2%"); which ones follows from `seed`.
    """

    sites: tuple[UUID, ...] = ()
    since: datetime | None = None
    sample: str = ""
    seed: int = 0
    files: bool = True

    @property
    def is_of_all(self) -> bool:
        """Whether the business's own Record belongs to it."""
        return not self.sites and not self.sample

    def site_ids(self) -> list[tuple[datetime, UUID]]:
        """The sites' keys, in the order in which they are checked: the oldest first."""
        found = Site.objects.order_by("created_at", "pk")
        if self.sites:
            found = found.filter(pk__in=self.sites)
        if self.since:
            later = RecordEntry.objects.filter(at__gte=self.since).order_by()
            found = found.filter(pk__in=later.values("site"))
        keys = list(found.values_list("created_at", "pk"))
        return sorted(sorted(keys, key=self._lot)[: self._size(len(keys))])

    def _lot(self, key: tuple[datetime, UUID]) -> bytes:
        """Draws without remembering: the same seed draws the same sites when a run goes on."""
        return hashlib.sha256(f"{self.seed}/{key[1]}".encode()).digest() if self.sample else b""

    def _size(self, of: int) -> int:
        if not self.sample:
            return of
        if self.sample.endswith("%"):
            return ceil(of * float(self.sample[:-1]) / 100)
        return int(self.sample)


@dataclass
class Progress:
    """How far a run has come: of how many sites, and after which one."""

    checked: Checked
    of: int = 0
    after: tuple[datetime, UUID] | None = None


def verify(
    scope: Scope | None = None,
    jobs: int = 1,
    resume: Path | None = None,
    tell: Callable[[Progress], None] = lambda progress: None,
) -> Checked:
    """Check what `scope` says, on `jobs` processes, up to the first break.

    With `resume` the run notes there how far it has come, and goes on after that when it is called
    again; the file goes away with the end of the run. Raises `BadState` where it is another run's.
    """
    scope = scope or Scope()
    state = _State(resume, scope) if resume else None
    progress = state.read() if state else Progress(Checked())
    keys = [key for key in scope.site_ids() if progress.after is None or key > progress.after]
    progress.of = progress.checked.sites + len(keys)
    if progress.after is None and scope.is_of_all:
        progress.checked.add(check_business(scope.since))
        progress.checked.found = progress.checked.found or _checkpoint_break()
        if progress.checked.found:
            return progress.checked
    tell(progress)
    parts = [keys[at : at + SITES_A_PART] for at in range(0, len(keys), SITES_A_PART)]
    for part, checked in _check_parts(parts, scope, jobs):
        progress.checked.add(checked)
        if progress.checked.found:
            return progress.checked
        progress.after = part[-1]
        if state:
            state.write(progress)
        tell(progress)
    if state:
        state.forget()
    return progress.checked


def _checkpoint_break() -> Break | None:
    """What does not hold of the checkpoints in the database: entries cut off, changed, moved."""
    wrong = anchors.check_own()
    return Break(wrong[0].sentence) if wrong else None


def verify_all() -> Checked:
    """Check all sites in this process."""
    return verify()


def _check_parts(parts: list, scope: Scope, jobs: int) -> Iterator[tuple[list, Checked]]:
    """Each part with what was found, in order."""
    check = partial(_check_part, since=scope.since, files=scope.files)
    if jobs == 1:
        for part in parts:
            yield part, check(part)
        return
    connections.close_all()  # a connection can't be shared with another process
    # Forked: the children find the same database, as tests have one of their own.
    fork = multiprocessing.get_context("fork")
    with ProcessPoolExecutor(jobs, mp_context=fork) as pool:
        try:
            yield from _in_order(pool, check, parts, jobs * PARTS_AHEAD)
        finally:
            pool.shutdown(cancel_futures=True)


def _in_order(pool, check, parts: list, ahead: int) -> Iterator[tuple[list, Checked]]:
    waiting: list[tuple[list, Future]] = []
    rest = iter(parts)
    while True:
        waiting += [(part, pool.submit(check, part)) for part in islice(rest, ahead - len(waiting))]
        if not waiting:
            return
        part, future = waiting.pop(0)
        yield part, future.result()


def _check_part(part: list[tuple[datetime, UUID]], since: datetime | None, files: bool) -> Checked:
    return check_sites([pk for _, pk in part], since, files)


class _State:
    """The file in which a run notes how far it has come."""

    def __init__(self, path: Path, scope: Scope):
        self.path = path
        self.scope = json.loads(json.dumps(asdict(scope), default=str))

    def read(self) -> Progress:
        try:
            kept = json.loads(self.path.read_text())
        except FileNotFoundError:
            return Progress(Checked())
        except ValueError as error:
            raise BadState(f"{self.path} is not whole. Delete it to start anew.") from error
        if not isinstance(kept, dict) or kept.get("format") != FORMAT:
            raise BadState(f"{self.path} is not the file of a run. Name another one.")
        if kept["scope"] != self.scope:
            raise BadState(
                f"{self.path} is of a run with other options. Give the same ones, or delete it."
            )
        after = (datetime.fromisoformat(kept["after"][0]), UUID(kept["after"][1]))
        return Progress(Checked(**kept["checked"]), after=after)

    def write(self, progress: Progress) -> None:
        """In one step, so that a kill leaves the old file or the new one."""
        at, pk = progress.after
        kept = {
            "format": FORMAT,
            "scope": self.scope,
            "after": [at.isoformat(), str(pk)],
            "checked": progress.checked.counts(),
        }
        new = self.path.with_name(f"{self.path.name}.new")
        new.write_text(json.dumps(kept))
        os.replace(new, self.path)

    def forget(self) -> None:
        with suppress(FileNotFoundError):
            self.path.unlink()
