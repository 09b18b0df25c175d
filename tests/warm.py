"""`manage.py` in a process where the libraries are loaded already.

Loading Django, numpy, WeasyPrint and others takes half of a short command's second of processor
time. One process loads them, but no settings and nothing of the project; each command is a fork of
it, with variables, output and an exit code of its own, and runs `manage.py` from its first line.
"""

import atexit
import multiprocessing
import os
import runpy
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
LIBRARIES = [
    "PIL.Image",
    "asyncio",
    "django.core.management",
    "django.db.models",
    "django.forms",
    "django.template.loader",
    "django.test",
    "django.views.generic",
    "environ",
    "fido2.server",
    "holidays",
    "icalendar",
    "numpy",
    "pikepdf",
    "pillow_heif",
    "psycopg",
    "pytest",  # what runs the tests is looked at by each fork
    "segno",
    "weasyprint",
]
"""What takes long to load and asks for no settings."""


def manage(*arguments: str, environment: Mapping[str, str]) -> subprocess.CompletedProcess:
    """Runs `manage.py` to its end with these variables and no others; nothing on its input."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(LIBRARIES)
    with tempfile.TemporaryDirectory() as folder:
        process = context.Process(target=_run, args=(arguments, dict(environment), folder))
        process.start()
        process.join()
        said = [(Path(folder) / name).read_text() for name in ("out", "err")]
    return subprocess.CompletedProcess(arguments, process.exitcode, *said)


def _run(arguments: tuple[str, ...], environment: dict[str, str], folder: str) -> None:
    for name, descriptor in (("out", 1), ("err", 2)):
        with (Path(folder) / name).open("wb") as file:
            os.dup2(file.fileno(), descriptor)
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(PROJECT)
    sys.path.insert(0, str(PROJECT))
    sys.argv = ["manage.py", *arguments]
    try:
        runpy.run_path("manage.py", run_name="__main__")
    finally:
        atexit._run_exitfuncs()  # multiprocessing ends a fork without them
