"""Which small faults of the code no test finds: single mutants, each run against its tests.

    .venv/bin/python -m tests.bench.mutate --group rules --sample 40 --seed 1
    .venv/bin/python -m tests.bench.mutate --group actions --only delete-call

A mutant is one changed place: a call that is deleted, a condition negated, a comparison swapped, an
operand of `and` or `or` dropped, a constant changed. The tests that call its function run until one
fails. What none fails for within `--seconds` is printed as a diff: a test is missing, or the code
is not needed. The same seed takes the same sample.

No file changes. pytest collects once and makes its database; then each mutant is a forked process
in which the changed functions get their new code. What stands outside functions (tables, fields)
is read when modules are imported: it is changed in a copy of the work tree, by a pytest of its own.
"""

import argparse
import ast
import functools
import gc
import os
import pickle
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from difflib import unified_diff
from pathlib import Path
from types import CodeType, FunctionType, SimpleNamespace

import pytest

ROOT = Path(__file__).resolve().parents[2]

GROUPS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "rules": (("readiness/rules",), ("tests/rules", "tests/wording")),
    "actions": (
        ("readiness/actions", "readiness/messages", "readiness/errands.py"),
        ("tests/actions", "tests/messages", "tests/portal"),
    ),
    "record": (
        ("readiness/evidence", "readiness/models/record.py", "readiness/models/verbs.py"),
        ("tests/evidence", "tests/evidence/test_record.py", "tests/actions/test_every_action.py",
         "tests/upgrades/test_corrections.py", "tests/wording"),
    ),
    "photos": (
        ("readiness/photos",),
        ("tests/photos", "tests/actions/photos", "tests/portal/photos"),
    ),
    "guards": (
        ("portal/requests", "portal/builder/access.py"),
        ("tests/portal",),
    ),
}  # fmt: skip
"""By name: the code that is changed, and the tests that have to find it."""

NOT_RUN = ("test_outbox_machine.py", "test_kill.py", "test_silent_store.py", "test_object_store.py")
"""Slow, and of what other tests find sooner."""

COMPARED: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.In: "not in", ast.NotIn: "in", ast.Is: "is not", ast.IsNot: "is",
}  # fmt: skip

CODE = re.compile(r"[a-z][a-z_]*\Z")
"""Strings that are no words for people: verbs, kinds, names of fields."""


@dataclass(frozen=True)
class Mutant:
    """One place of a file that reads differently; offsets are in bytes."""

    path: Path
    kind: str
    line: int
    start: int
    end: int
    text: str
    function: str
    """The outermost function that it is in; "" for a table or a class."""

    def before(self) -> str:
        return (ROOT / self.path).read_bytes()[self.start : self.end].decode()

    def source(self) -> bytes:
        before = (ROOT / self.path).read_bytes()
        return before[: self.start] + self.text.encode() + before[self.end :]

    def diff(self) -> str:
        before = (ROOT / self.path).read_text().splitlines()
        after = self.source().decode().splitlines()
        lines = list(unified_diff(before, after, n=0, lineterm=""))[3:]
        return "\n".join([f"{self.path}:{self.line} ({self.kind})", *lines])


class Finder(ast.NodeVisitor):
    """Finds what can be changed in one file."""

    def __init__(self, path: Path):
        self.path, self.found, self.function = path, [], ""
        self.source = (ROOT / path).read_bytes()
        self.starts = [0]
        for line in self.source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.visit(ast.parse(self.source))

    def note(self, kind: str, node, text: str) -> None:
        start = self.starts[node.lineno - 1] + node.col_offset
        end = self.starts[node.end_lineno - 1] + node.end_col_offset
        self.found.append(Mutant(self.path, kind, node.lineno, start, end, text, self.function))

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Constant):
            return  # a docstring
        if isinstance(node.value, ast.Call):
            if ast.unparse(node.value).startswith("log."):
                return
            self.note("delete-call", node, "pass")
        self.generic_visit(node)

    def visit_If(self, node) -> None:
        self.note("negate", node.test, f"not ({ast.unparse(node.test)})")
        self.generic_visit(node)

    visit_IfExp = visit_While = visit_If  # noqa: N815

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self.note("negate", test, f"(not ({ast.unparse(test)}))")
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        for place, operator in enumerate(node.ops):
            sides = [node.left, *node.comparators]
            words = [ast.unparse(sides[0])]
            for at, (one, side) in enumerate(zip(node.ops, sides[1:], strict=True)):
                plain = ast.unparse(ast.Compare(ast.Name("a"), [one], [ast.Name("b")]))[2:-2]
                words += [COMPARED[type(operator)] if at == place else plain, ast.unparse(side)]
            self.note("compare", node, f"({' '.join(words)})")
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        word = " and " if isinstance(node.op, ast.And) else " or "
        for place in range(len(node.values)):
            kept = [value for at, value in enumerate(node.values) if at != place]
            self.note(
                "drop-operand", node, f"({word.join(f'({ast.unparse(one)})' for one in kept)})"
            )
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            self.note("constant", node, repr(not node.value))
        elif isinstance(node.value, int):
            self.note("constant", node, repr(node.value + 1))
        elif isinstance(node.value, str) and CODE.match(node.value):
            self.note("constant", node, repr(f"{node.value}x"))

    def visit_FunctionDef(self, node) -> None:
        """Neither its annotations nor its decorators."""
        outside = self.function
        for part in [*node.args.defaults, *filter(None, node.args.kw_defaults)]:
            self.visit(part)
        self.function = outside or node.name
        for part in node.body:
            self.visit(part)
        self.function = outside

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value:
            self.visit(node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Its parts have no places of their own in older Pythons."""

    def visit_Assign(self, node: ast.Assign) -> None:
        names = {target.id for target in node.targets if isinstance(target, ast.Name)}
        if not names & {"__all__", "log"}:
            self.generic_visit(node)


def mutants(group: str) -> list[Mutant]:
    return [one for path in _files(GROUPS[group][0]) for one in Finder(path).found]


def _files(places: tuple[str, ...]) -> Iterator[Path]:
    for place in places:
        found = [ROOT / place] if place.endswith(".py") else sorted((ROOT / place).rglob("*.py"))
        yield from (path.relative_to(ROOT) for path in found if path.exists())


def order_for(path: Path):
    """A key to sort test files by: those first that have most to do with a module."""
    named = re.compile(rf"\b{re.escape(path.stem)}\b")

    @functools.cache
    def key(test: Path) -> tuple[bool, bool, bool]:
        is_its_own = test.name == f"test_{path.stem}.py"
        is_named = named.search(test.read_text()) is not None
        return not is_its_own, "test_every_action" not in test.name, not is_named

    return key


def test_files(places: tuple[str, ...]) -> list[str]:
    found = dict.fromkeys(_files(places))
    return [
        str(path) for path in found if path.name.startswith("test_") and path.name not in NOT_RUN
    ]


PLAIN = ["-q", "-m", "not long", "-p", "no:cacheprovider"]


class Forking:
    """A pytest plugin: instead of running the tests once, runs them for each mutant."""

    def __init__(self, chosen: list[Mutant], seconds: int, say):
        self.chosen, self.seconds, self.say = chosen, seconds, say

    def pytest_runtestloop(self, session) -> bool:
        self.session = session
        self.root_alone = SimpleNamespace(listchain=lambda: [session])
        self._make_database()
        with tempfile.NamedTemporaryFile(suffix=".calls") as file:
            if self._code_of_fork(lambda: self._note_calls(file.name), 3600):
                raise pytest.UsageError("The tests fail without any mutant.")
            self.tests = pickle.loads(Path(file.name).read_bytes())
        for mutant in self.chosen:
            # Past three times the limit a loop has no end: that is found.
            code = self._code_of_fork(lambda mutant=mutant: self._try(mutant), 3 * self.seconds)
            if code not in (0, 1, None):
                raise pytest.UsageError("This mutant could not be tried.")
            self.say(mutant, code != 0)
        return True

    def _make_database(self) -> None:
        """Run one test that uses it: fixtures of the session stay for the forks."""
        from django.db import connections

        item = next(one for one in self.session.items if "db" in getattr(one, "fixturenames", ()))
        self._run([item])
        connections.close_all()
        self.database = Path(connections["default"].settings_dict["NAME"])
        self.kept = self.database.with_suffix(".kept")
        shutil.copy2(self.database, self.kept)

    def _run(self, items: list, before=lambda _item: None) -> None:
        for item, following in zip(items, [*items[1:], self.root_alone], strict=True):
            before(item)
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)

    def _code_of_fork(self, do: Callable[[], None], seconds: float) -> int | None:
        """0 where no test failed, 1 where one did, 2 for our own trouble; None: out of time."""
        shutil.copy2(self.kept, self.database)
        process = os.fork()
        if not process:
            self._in_fork(do)
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            done, status = os.waitpid(process, os.WNOHANG)
            if done:
                return os.waitstatus_to_exitcode(status)
            time.sleep(0.05)
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
        return None

    def _in_fork(self, do: Callable[[], None]) -> None:
        """Never returns."""
        code = 2
        try:
            plugins = self.session.config.pluginmanager
            plugins.unregister(name="terminalreporter")
            plugins.register(EndAtFailure())
            do()
            code = 0
        except BaseException:
            traceback.print_exc(file=sys.__stderr__)
        finally:
            os._exit(code)

    def _note_calls(self, file: str) -> None:
        """Run all tests as they are, and write down which of them call which function."""
        files = {str(ROOT / mutant.path) for mutant in self.chosen}
        calls: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
        running = ""

        def note(frame, event, _argument):
            if event == "call" and frame.f_code.co_filename in files:
                calls[frame.f_code.co_filename, frame.f_code.co_name][running] = None

        def begin(item):
            nonlocal running
            running = item.nodeid

        sys.setprofile(note)
        threading.setprofile(note)
        self._run(self.session.items, begin)
        sys.setprofile(None)
        Path(file).write_bytes(pickle.dumps({key: list(tests) for key, tests in calls.items()}))

    def _try(self, mutant: Mutant) -> None:
        """Run the tests that call the function, those that are named after it or its module first;
        all tests where none seems to (a cache may have answered for it).
        """
        apply(mutant)
        called = set(self.tests.get((str(ROOT / mutant.path), mutant.function), ()))
        items = [item for item in self.session.items if not called or item.nodeid in called]
        key, name = order_for(mutant.path), mutant.function.strip("_")
        items.sort(key=lambda item: (name not in item.name, key(item.path)))
        end = time.monotonic() + self.seconds

        def stop_in_time(_item):
            if time.monotonic() > end:
                os._exit(0)

        self._run(items, stop_in_time)


class EndAtFailure:
    """In a fork: the first failure is all that is asked for."""

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed:
            os._exit(1)


def apply(mutant: Mutant) -> None:
    """Give the functions of this process the code that they have in the mutant."""
    name = str(ROOT / mutant.path)
    plain = _codes(compile((ROOT / mutant.path).read_bytes(), name, "exec"))
    changed = _codes(compile(mutant.source(), name, "exec"))
    codes = {
        (code.co_qualname, code.co_firstlineno): changed[key]
        for key, code in plain.items()
        if key in changed
    }
    for thing in gc.get_objects():
        if type(thing) is functools._lru_cache_wrapper:
            thing.cache_clear()
        elif type(thing) is FunctionType and thing.__code__.co_filename == name:
            code = thing.__code__
            new = codes.get((code.co_qualname, code.co_firstlineno), code)
            if new.co_freevars == code.co_freevars:
                thing.__code__ = new


def _codes(code: CodeType) -> dict[tuple[str, int], CodeType]:
    """All code of a file, by name and which of that name it is."""
    found: dict[tuple[str, int], CodeType] = {}
    counted: Counter[str] = Counter()
    waiting = [code]
    while waiting:
        code = waiting.pop()
        counted[code.co_qualname] += 1
        found[code.co_qualname, counted[code.co_qualname]] = code
        waiting += [one for one in code.co_consts if isinstance(one, CodeType)]
    return found


def is_found_in_copy(copy: Path, mutant: Mutant, tests: list[str], seconds: int) -> bool:
    target = copy / mutant.path
    plain = target.read_bytes()
    target.write_bytes(mutant.source())
    key = order_for(mutant.path)
    tests = sorted(tests, key=lambda name: key(ROOT / name))
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-x", *PLAIN, *tests],
            cwd=copy, timeout=3 * seconds, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return False  # it takes long, and nothing has failed
    finally:
        target.write_bytes(plain)
    return done.returncode != 0


def copy_of_tree(folder: Path) -> Path:
    """The work tree as it stands, without what git does not know."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    for name in listed.stdout.splitlines():
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
    return folder


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--group", choices=GROUPS, required=True)
    parser.add_argument("--sample", type=int, help="How many mutants; all by default.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", help="One kind of change, such as delete-call.")
    parser.add_argument("--matching", default="", help="Only where the code reads like this.")
    parser.add_argument("--tests", nargs="*", help="Test files or folders, not the group's.")
    parser.add_argument("--seconds", type=int, default=60, help="For the tests of one mutant.")
    parser.add_argument("--list", action="store_true", help="Show the mutants, and run nothing.")
    given = parser.parse_args()
    chosen = [one for one in mutants(given.group) if given.only in (None, one.kind)]
    chosen = [one for one in chosen if re.search(given.matching, one.before())]
    if given.sample and given.sample < len(chosen):
        chosen = random.Random(given.seed).sample(chosen, given.sample)
    if given.list:
        print("\n\n".join(one.diff() for one in chosen))
        return 0
    tests = test_files(tuple(given.tests or GROUPS[given.group][1]))
    tally = Tally(given.group, chosen)
    forked = [one for one in chosen if one.function]
    if forked:
        pytest.main([*PLAIN, *tests], plugins=[Forking(forked, given.seconds, tally.say)])
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = copy_of_tree(Path(folder))
        for mutant in chosen:
            if not mutant.function:
                tally.say(mutant, is_found_in_copy(copy, mutant, tests, given.seconds))
    tally.sum_up()
    return 0 if tally.done == len(chosen) else 1


class Tally:
    """Counts what was found, and prints what was not."""

    def __init__(self, group: str, chosen: list[Mutant]):
        self.group, self.chosen, self.done = group, chosen, 0
        self.found: Counter[str] = Counter()
        self.begun = time.monotonic()
        self.out = os.fdopen(os.dup(1), "w", buffering=1)  # pytest takes the other

    def say(self, mutant: Mutant, is_found: bool) -> None:
        self.done += 1
        self.found[mutant.kind] += is_found
        if not is_found:
            print(f"\nNo test finds this:\n{mutant.diff()}", file=self.out)
        if self.done % 20 == 0:
            spent = time.monotonic() - self.begun
            print(f"\n{self.done} of {len(self.chosen)}, {spent:.0f} s", file=self.out)

    def sum_up(self) -> None:
        kinds = Counter(mutant.kind for mutant in self.chosen)
        shares = [f"{kind} {self.found[kind]} of {kinds[kind]}" for kind in sorted(kinds)]
        total = self.found.total()
        percent = 100 * total / max(self.done, 1)
        print(f"\n{self.group}: {total} of {self.done} found, {percent:.0f} %", file=self.out)
        print(f"({', '.join(shares)})", file=self.out)


if __name__ == "__main__":
    sys.exit(main())
