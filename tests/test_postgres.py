"""Starts a PostgreSQL server of its own and runs on it what depends on the database."""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

WHOLE = [
    ["tests/upgrades", "-k", "not every_page"],
    ["tests/actions", "tests/messages", "-m", "not long"],
    ["tests/concurrency", "tests/evidence", "tests/models", "tests/on_postgres"],
]
"""All that depends on the database, in parts that run beside each other, the longest first.

Of many thousand acts in any order the quick ones do some hundreds here; SQLite has the long ones,
and the walk over all pages of what was upgraded.
"""


def server_program(name: str) -> str | None:
    """The path of a PostgreSQL server program; Debian keeps them out of PATH."""
    found = shutil.which(name)
    debian = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return found or (str(debian[-1]) if debian else None)


def as_server_user() -> list[str]:
    """PostgreSQL refuses to run as root: then the package's own user runs it."""
    return ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return sock.getsockname()[1]


@pytest.fixture(scope="session")
def postgres_url():
    initdb, pg_ctl = server_program("initdb"), server_program("pg_ctl")
    if not (initdb and pg_ctl):
        pytest.skip("PostgreSQL is not installed (apt package: postgresql).")
    folder = Path(tempfile.mkdtemp(prefix="readiness-pg-"))
    if as_server_user():
        shutil.chown(folder, "postgres")
    data, run = str(folder / "data"), as_server_user()
    quiet = {"check": True, "stdout": subprocess.DEVNULL, "cwd": "/"}
    subprocess.run([*run, initdb, "-D", data, "-A", "trust", "-U", "readiness", "-N"], **quiet)
    port = free_port()
    options = f"-c listen_addresses=127.0.0.1 -c port={port} -k {folder} -c fsync=off"
    subprocess.run(
        [*run, pg_ctl, "-D", data, "-w", "-o", options, "-l", str(folder / "log"), "start"], **quiet
    )
    yield f"postgres://readiness@127.0.0.1:{port}/postgres"
    subprocess.run([*run, pg_ctl, "-D", data, "-m", "immediate", "stop"], **quiet)
    shutil.rmtree(folder, ignore_errors=True)


def test_what_is_to_run_there_is_where_it_says():
    """pytest says nothing of a test that it is to leave out and that is not there."""
    for name in (name for part in WHOLE for name in part if name.startswith("tests")):
        assert (ROOT / name).exists(), name


@pytest.mark.long
@pytest.mark.postgres
@pytest.mark.parametrize("part", WHOLE, ids=lambda part: part[0].rpartition("/")[2])
def test_what_depends_on_the_database_holds_on_postgresql(postgres_url, part):
    run_on(postgres_url, *part)


def run_on(postgres_url: str, *chosen: str) -> None:
    """Run these tests on a database of their own on that server; none of them may be skipped."""
    environment = {**os.environ, "DATABASE_URL": postgres_url}
    environment.pop("PYTEST_XDIST_WORKER", None)
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *chosen],
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]
    assert "passed" in done.stdout
    assert "skipped" not in done.stdout
