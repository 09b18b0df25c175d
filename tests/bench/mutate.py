"""Which small faults of the code no test finds: single mutants, each run against its tests.

    .venv/bin/python -m tests.bench.mutate --group rules --sample 40 --seed 1
    .venv/bin/python -m tests.bench.mutate --group actions --only delete-call
    .venv/bin/python -m tests.bench.mutate --group photos --matching DEEPEST --tests tests/photos

Needs `coverage` installed. `mutants.py` says what is changed; the same seed takes the same sample.
The whole suite but the browser's (or `--tests`) runs once to note which test runs which line; that
is kept until the code or a test changes. Then of each mutant the tests that run its line run until
one fails: those named after its function or its file first, then the quickest, for as many as take
`--seconds`. What none fails for is printed as a diff: a test is missing, or the code is not needed.
No file changes: each mutant is what one pytest and its decoders of photos read.
"""

import argparse
import functools
import hashlib
import json
import os
import random
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from importlib.machinery import SourceFileLoader
from pathlib import Path

import pytest

from tests.bench.mutants import ROOT, Mutant, files, mutants
from tests.bench.reached import FOLDER, PRODUCT

GROUPS = {
    "rules": ("readiness/rules",),
    "actions": (
        "readiness/actions", "readiness/messages", "readiness/errands.py", "readiness/standing.py",
    ),
    "record": ("readiness/evidence", "readiness/models/record.py", "readiness/models/verbs.py"),
    "photos": ("readiness/photos",),
    "guards": ("portal/requests", "portal/builder/access.py", "readiness/models:visible_to"),
}  # fmt: skip
"""The code that is changed, by name."""

PYTEST = ["-q", "-m", "not long", "-p", "no:cacheprovider"]
FAILED = re.compile(r"^(?:FAILED|ERROR) (tests/.+?)(?: - .*)?$", re.M)
MOST_BYTES = 8 << 30


DECODER = """
from importlib.machinery import SourceFileLoader as Loader
plainly = Loader.get_code
def get_code(loader, name):
    if loader.path != {path!r}:
        return plainly(loader, name)
    return compile(open({changed!r}, "rb").read(), {path!r}, "exec", dont_inherit=True)
Loader.get_code = get_code
"""
"""What a decoder's process runs first."""


class Reached:
    """Which tests run a line, and how long each takes."""

    def __init__(self, tests: list[str]):
        from coverage import CoverageData

        folder = self._folder(tests)
        if not (folder / "whole").exists():
            self._note(tests, folder)
        self.seconds: dict[str, float] = {}
        self.data = []
        for file in folder.glob("*.json"):
            self.seconds |= json.loads(file.read_text())
            self.data.append(CoverageData(str(file.with_suffix(".coverage"))))
            self.data[-1].read()

    def _folder(self, tests: list[str]) -> Path:
        digest = hashlib.sha256(" ".join(tests).encode())
        for path in (path for place in (*PRODUCT, "tests") for path in files(place)):
            if "bench" not in path.parts:
                digest.update(f"{path}\0".encode() + (ROOT / path).read_bytes())
        return ROOT / ".pytest_cache" / "reached" / digest.hexdigest()[:24]

    def _note(self, tests: list[str], folder: Path) -> None:
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        print("Noting which test runs which line.", flush=True)
        command = [sys.executable, "-m", "pytest", *PYTEST, "-p", "tests.bench.reached", *tests]
        left_out = ["-n", "auto", "--ignore=tests/browser", "--ignore=tests/recipes"]
        subprocess.run([*command, *left_out], cwd=ROOT, env={**os.environ, FOLDER: str(folder)})
        (folder / "whole").touch()

    @functools.cache  # noqa: B019
    def _of_file(self, path: Path) -> dict[int, set[str]]:
        found: dict[int, set[str]] = {}
        for data in self.data:
            for line, contexts in data.contexts_by_lineno(str(ROOT / path)).items():
                found.setdefault(line, set()).update(contexts)
        return found

    def tests(self, mutant: Mutant, seconds: float) -> list[str]:
        """Those that run it; of what runs on import, those that run anything of its file or lie
        beside it. As many as the time is enough for, the ones to begin with first.
        """
        by_line = self._of_file(mutant.path)
        found: set[str] = set()
        for lines in (mutant.lines, mutant.statement):
            found = found or set().union(*(by_line.get(line, ()) for line in lines))
        folder = self._tests_beside(mutant.path)
        if not found - {""}:
            beside = (name for name in self.seconds if name.startswith(folder))
            found = set().union(*by_line.values(), beside)
        of_file = {name for name in self.seconds if name.split("::")[0] in found}
        first = (mutant.function.strip("_"), f"test_{mutant.path.stem}.py::", folder)
        names = [name for name in self.seconds if name in found | of_file]
        names.sort(key=lambda name: (*(part not in name for part in first), self.seconds[name]))
        spent = 0.0
        return [name for name in names if (spent := spent + self.seconds[name]) < seconds]

    def _tests_beside(self, path: Path) -> str:
        """The folder of tests that is called as the file's, else as the nearest above it."""
        rooms = path.parts[:-1] if path.parts[0] == "portal" else path.parts[1:-1]
        folder = "/".join(["tests", *rooms, ""])
        while folder != "tests/" and not any(name.startswith(folder) for name in self.seconds):
            folder = folder[: folder.rindex("/", 0, -1) + 1]
        return folder


class Trying:
    """Runs tests against mutants."""

    def __init__(self, seconds: int):
        self.seconds = seconds
        self.sound: dict[str, bool] = {}

    def is_found(self, mutant: Mutant, tests: list[str]) -> bool:
        """Whether a test fails that does not fail without the mutant. No end is found, too."""
        path, source = str(ROOT / mutant.path), mutant.source()
        while tests := [name for name in tests if self.sound.get(name, True)]:
            failed = self._failed(path, source, tests)
            if failed is None or self.sound.get(failed):
                return failed is not None
            if failed not in tests:  # it broke at once or came to no end, unless we asked wrongly
                if self._failed("", b"", ["--collect-only", *tests]) is not None:
                    raise SystemExit(f"These tests can't be run for {mutant.diff()}")
                return True
            self.sound[failed] = self._failed("", b"", [failed]) is None
        return False

    def _failed(self, path: str, source: bytes, tests: list[str]) -> str | None:
        """The first test that fails; "" when none could be run or it came to no end."""
        code = f"from tests.bench import mutate; mutate.run({path!r}, {4 * self.seconds})"
        command = [sys.executable, "-c", code, "-x", *PYTEST, *tests]
        try:
            done = subprocess.run(
                command, cwd=ROOT, input=source, timeout=20 * self.seconds, capture_output=True
            )
        except subprocess.TimeoutExpired:
            return ""
        failed = FAILED.search(done.stdout.decode())
        return None if done.returncode == 0 else failed[1] if failed else ""


def run(path: str, seconds: int) -> None:
    """Run pytest with one file of the product read from standard input, in decoders too."""
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    changed, plainly = sys.stdin.buffer.read(), SourceFileLoader.get_code

    def get_code(loader, name):
        if loader.path == path:
            return compile(changed, path, "exec", dont_inherit=True)
        return plainly(loader, name)

    SourceFileLoader.get_code = get_code
    with tempfile.NamedTemporaryFile(suffix=".py") as file:
        file.write(changed)
        file.flush()
        sys.exit(pytest.main(sys.argv[1:], plugins=[Decoders(path, file.name)]))


class Decoders:
    """Lets the processes that decode photos read the changed file: each is a Python of its own."""

    def __init__(self, path: str, changed: str):
        self.first = DECODER.format(path=path, changed=changed)

    def pytest_collection_finish(self) -> None:
        from readiness.photos import decoder

        decoder.START = self.first + decoder.START


def report(group: str, chosen: list[Mutant], found: list[bool]) -> None:
    """Say how many of each kind were found."""
    kinds = Counter(mutant.kind for mutant in chosen)
    hits = Counter(mutant.kind for mutant, hit in zip(chosen, found, strict=True) if hit)
    percent = 100 * hits.total() / max(kinds.total(), 1)
    print(f"\n{group}: {hits.total()} of {kinds.total()} found, {percent:.0f} %")
    print(f"({', '.join(f'{kind} {hits[kind]} of {kinds[kind]}' for kind in sorted(kinds))})")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--group", choices=GROUPS, required=True)
    parser.add_argument("--sample", type=int, help="How many mutants; all by default.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", help="One kind of change, such as delete-call.")
    parser.add_argument("--matching", default="", help="Only where the diff reads like this.")
    parser.add_argument("--tests", nargs="*", default=["tests"], help="Files or folders.")
    parser.add_argument("--seconds", type=int, default=60, help="For the tests of one mutant.")
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    parser.add_argument("--list", action="store_true", help="Show the mutants, and run nothing.")
    given = parser.parse_args()
    chosen = [one for one in mutants(GROUPS[given.group]) if given.only in (None, one.kind)]
    chosen = [one for one in chosen if re.search(given.matching, one.diff())]
    if given.sample and given.sample < len(chosen):
        chosen = random.Random(given.seed).sample(chosen, given.sample)
    if given.list:
        print("\n\n".join(one.diff() for one in chosen))
        return
    reached, trying, begun = Reached(given.tests), Trying(given.seconds), time.monotonic()

    def try_one(mutant: Mutant) -> bool:
        tests = reached.tests(mutant, given.seconds)
        is_found = trying.is_found(mutant, tests)
        if not is_found:
            print(f"\nNone of {len(tests)} tests finds this:\n{mutant.diff()}", flush=True)
        return is_found

    with ThreadPoolExecutor(given.jobs) as pool:
        report(given.group, chosen, list(pool.map(try_one, chosen)))
    print(f"{time.monotonic() - begun:.0f} s")


if __name__ == "__main__":
    main()
