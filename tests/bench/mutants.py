"""Small faults to put into a file: a call deleted, a condition negated, a comparison swapped, an
operand of `and` or `or` dropped, a number or a truth value changed. Words are left as they are.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import unified_diff
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

COMPARED: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.In: "not in", ast.NotIn: "in", ast.Is: "is not", ast.IsNot: "is",
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One place of a file that reads differently; offsets are in bytes."""

    path: Path
    kind: str
    lines: range
    """Where the changed part is."""
    statement: range
    """Where the statement is that it is a part of."""
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
        return "\n".join([f"{self.path}:{self.lines.start} ({self.kind})", *lines])


class Finder(ast.NodeVisitor):
    """Finds what can be changed in one file."""

    def __init__(self, path: Path):
        self.path, self.found, self.function = path, [], ""
        source = (ROOT / path).read_bytes()
        self.starts = [0]
        for line in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.visit(ast.parse(source))

    def note(self, kind: str, node, text: str) -> None:
        start = self.starts[node.lineno - 1] + node.col_offset
        end = self.starts[node.end_lineno - 1] + node.end_col_offset
        lines = range(node.lineno, node.end_lineno + 1)
        self.found.append(
            Mutant(self.path, kind, lines, self.statement, start, end, text, self.function)
        )

    def visit(self, node: ast.AST) -> None:
        if isinstance(node, ast.stmt):
            self.statement = range(node.lineno, node.end_lineno + 1)
        super().visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Constant):
            return  # a docstring
        if isinstance(node.value, ast.Call):
            if ast.unparse(node.value).startswith(("log.", "logger.")):
                return
            self.note("delete-call", node, "pass")
        self.generic_visit(node)

    def negate(self, test: ast.expr) -> None:
        if not isinstance(test, ast.Compare):  # that is swapped instead
            self.note("negate", test, f"(not ({ast.unparse(test)}))")

    def visit_If(self, node) -> None:
        self.negate(node.test)
        self.generic_visit(node)

    visit_IfExp = visit_While = visit_If  # noqa: N815

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self.negate(test)
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
        values = [f"({ast.unparse(one)})" for one in node.values]
        for place in range(len(values)):
            kept = word.join(values[:place] + values[place + 1 :])
            self.note("drop-operand", node, f"({kept})")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            self.note("constant", node, repr(not node.value))
        elif isinstance(node.value, int):
            self.note("constant", node, repr(node.value + 1))

    def visit_FunctionDef(self, node) -> None:
        """Neither its annotations nor its decorators."""
        for part in [*node.args.defaults, *filter(None, node.args.kw_defaults)]:
            self.visit(part)
        outside, self.function = self.function, self.function or node.name
        for part in node.body:
            self.visit(part)
        self.function = outside

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        """Not that a dataclass is frozen: nothing we do shows it."""
        for part in node.body:
            self.visit(part)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value:
            self.visit(node.value)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Its parts have no places of their own in older Pythons."""


def mutants(places: tuple[str, ...]) -> list[Mutant]:
    """Those of files and folders; `folder:name` takes only the functions of that name."""
    found = []
    for place in places:
        folder, _, only = place.partition(":")
        for path in files(folder):
            found += [one for one in Finder(path).found if only in ("", one.function)]
    return found


def files(place: str) -> Iterator[Path]:
    """The Python files of a folder, or the one file; from the top folder on."""
    found = [ROOT / place] if place.endswith(".py") else sorted((ROOT / place).rglob("*.py"))
    if not found:
        raise FileNotFoundError(place)
    yield from (path.relative_to(ROOT) for path in found)
