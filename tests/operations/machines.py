"""Processes of one installation on this machine: web servers, workers, a database, a bucket.

Each can be killed and started again by itself, as the machines of a larger installation are.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from tests.test_postgres import as_server_user, server_program

PROJECT = Path(__file__).resolve().parents[2]
START_SECONDS = 60


def answers_at(port: int) -> bool:
    """Whether somebody listens on a port of this machine."""
    with socket.socket() as probe:
        probe.settimeout(1)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def kept_port() -> int:
    """A port for a server that goes and comes back: no connection of anybody's takes it meanwhile.

    Linux hands out ports from 32768 on to connections (net.ipv4.ip_local_port_range).
    """
    while True:
        port = random.randrange(20_000, 32_000)
        with socket.socket() as probe, contextlib.suppress(OSError):
            probe.bind(("127.0.0.1", port))
            return port


def wait_for(condition, what: str, seconds: float = START_SECONDS, every: float = 0.1) -> None:
    """Wait until a condition holds; AssertionError with `what` when it never does."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if condition():
            return
        time.sleep(every)
    raise AssertionError(f"Never came: {what}")


class Machine:
    """One process in a group of its own, with its output in a file."""

    def __init__(self, name: str, command: Sequence[str], environment: dict, folder: Path):
        self.name, self.command, self.environment = name, list(command), environment
        self.log = folder / f"{name}.log"
        self.process: subprocess.Popen | None = None
        self.kills: list[float] = []

    def start(self) -> None:
        with self.log.open("ab") as output:
            self.process = subprocess.Popen(
                self.command,
                cwd=PROJECT,
                env=self.environment,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def kill(self, how: signal.Signals = signal.SIGKILL) -> None:
        """At once and without warning, children included."""
        if self.process is None:
            return
        self.kills.append(time.time())
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, how)
        self.process.wait()
        self.process = None

    @property
    def last_words(self) -> str:
        return self.log.read_text(errors="replace")[-3000:] if self.log.exists() else ""


class Postgres:
    """A PostgreSQL server of its own; `crash` is what pulling its plug does."""

    def __init__(self):
        # Not below pytest's own folder, which every other run of pytest shuts to others again.
        self.folder, self.port = Path(tempfile.mkdtemp(prefix="readiness-pg-")), kept_port()
        if as_server_user():
            shutil.chown(self.folder, "postgres")
        data = str(self.folder / "data")
        self._run(server_program("initdb"), "-D", data, "-A", "trust", "-U", "readiness", "-N")

    @property
    def url(self) -> str:
        return f"postgres://readiness@127.0.0.1:{self.port}/postgres"

    def start(self) -> None:
        options = f"-c listen_addresses=127.0.0.1 -c port={self.port} -k {self.folder}"
        self._control("-w", "-o", options, "-l", str(self.folder / "log"), "start")

    def crash(self) -> None:
        self._control("-m", "immediate", "stop")

    def remove(self) -> None:
        """Stop it, if it runs, and delete what it stored."""
        with contextlib.suppress(subprocess.CalledProcessError):
            self.crash()
        shutil.rmtree(self.folder, ignore_errors=True)

    def _control(self, *arguments: str) -> None:
        self._run(server_program("pg_ctl"), "-D", str(self.folder / "data"), *arguments)

    def _run(self, *command: str) -> None:
        subprocess.run(
            [*as_server_user(), *command], check=True, stdout=subprocess.DEVNULL, cwd="/"
        )


def manage(environment: dict, *arguments: str) -> str:
    """What a command of manage.py printed; AssertionError with its complaint when it failed."""
    done = subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=PROJECT,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-4000:]
    return done.stdout


def ask(environment: dict, script: str):
    """What a script run in the portal's shell prints after the word READY, as JSON."""
    return json.loads(manage(environment, "shell", "-v0", "-c", script).split("READY")[1])
