"""Parts of libraries that are not public: used in one module each, read in a known version."""

import ast
from functools import cache
from importlib.metadata import version
from pathlib import Path

import pytest

from readiness.actions import task_loop
from readiness.operations import allauth_inside
from readiness.papers import conformance, drawing_words

PROJECT = Path(__file__).resolve().parents[2]
USERS = {
    "django-allauth": (allauth_inside,),
    "django-tasks-db": (task_loop,),
    "WeasyPrint": (drawing_words, conformance),
}
PRIVATE = {
    "allauth.account.internal": {"readiness/operations/allauth_inside.py"},
    "allauth.account.utils": {"readiness/operations/allauth_inside.py"},
    "allauth.mfa.internal": set(),
    "allauth.mfa.utils": {"readiness/operations/allauth_inside.py"},
    "django_tasks_db.management": {"readiness/actions/task_loop.py"},
    "weasyprint.draw": {"readiness/papers/drawing_words.py"},
    "weasyprint.svg": {"readiness/papers/drawing_words.py"},
    "weasyprint.text.line_break": {"readiness/papers/drawing_words.py"},
}


@pytest.mark.parametrize(
    ("package", "module"), [(name, one) for name, found in USERS.items() for one in found]
)
def test_they_were_read_in_the_version_that_is_installed(package, module):
    installed = version(package)
    assert installed == module.READ_IN, (
        f"{package} {installed} is installed. {module.__name__} uses parts of it that are not "
        f"public and were read in {module.READ_IN}: read them again, correct what changed, run "
        f"the tests, and set READ_IN to {installed}."
    )


@cache
def _imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("private", PRIVATE)
def test_they_are_imported_in_one_module_only(private):
    found = set()
    for folder in ("readiness", "portal"):
        for path in (PROJECT / folder).rglob("*.py"):
            names = _imported(path)
            if any(name == private or name.startswith(f"{private}.") for name in names):
                found.add(str(path.relative_to(PROJECT)))
    assert found == PRIVATE[private]
