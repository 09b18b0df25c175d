"""`manage.py demo` in a process of its own: serves, signs in with one click, keeps, stops."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

PATIENCE = 300  # seconds: a busy machine is slow; only a command that hangs takes this long

ROOT = Path(__file__).resolve().parents[2]

# The command itself, with the people of the scenario and none of its sites: those take a while.
SCRIPT = """
import sys
from django.core.management import execute_from_command_line
import django
django.setup()
from readiness.demo import scenario
from readiness.demo.people import make_people
scenario.load = lambda now=None, say=None: make_people()
execute_from_command_line(["manage.py", "demo", *sys.argv[1:]])
"""


@pytest.fixture
def port():
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


@pytest.fixture
def run(tmp_path):
    """Start the command; what still runs afterwards is stopped."""
    kept = {
        key: value
        for key, value in os.environ.items()
        if not key.startswith(("READINESS_", "DATABASE_URL", "DJANGO_"))
    }
    environment = {
        **kept,
        "READINESS_DEMO": "1",
        "READINESS_DATA": str(tmp_path / "data"),
        "DJANGO_SETTINGS_MODULE": "portal.settings",
        "PYTHONUNBUFFERED": "1",
    }
    started = []

    def start(*arguments):
        process = subprocess.Popen(
            [sys.executable, "-c", SCRIPT, *arguments],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        started.append(process)
        return process

    yield start
    for process in started:
        if process.poll() is None:
            process.kill()
            process.wait()


def links(process):
    """The three sign-in links that it prints once it serves."""
    found = []
    deadline = time.monotonic() + PATIENCE
    while len(found) < 3 and time.monotonic() < deadline:
        line = process.stdout.readline()
        assert line or process.poll() is None, "it stopped before it served"
        found += re.findall(r"http://\S+/accounts/demo/\S+", line)
    return found


def browser():
    return urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))


def stop(process):
    process.send_signal(signal.SIGTERM)
    output, _ = process.communicate(timeout=PATIENCE)
    return output


def finished(process):
    """What it printed, once it ended by itself."""
    output, _ = process.communicate(timeout=PATIENCE)
    return output


@pytest.mark.long  # starts the command five times
def test_it_loads_once_serves_signs_in_with_one_click_and_stops(run, port):
    assert "Loaded in" in finished(run("--prepare"))

    served = run("--port", str(port))
    applicator, builder, _other = links(served)
    page = browser().open(applicator)
    assert page.status == 200
    assert not page.url.endswith("/accounts/login/")
    assert browser().open(builder).status == 200
    style = browser().open(f"http://127.0.0.1:{port}/static/portal/theme.css")
    assert style.headers["Content-Type"].startswith("text/css")
    packed = urllib.request.Request(style.url, headers={"Accept-Encoding": "gzip"})
    assert browser().open(packed).headers["Content-Encoding"] == "gzip"
    with pytest.raises(urllib.error.HTTPError, match="404"):
        browser().open(f"http://127.0.0.1:{port}/accounts/demo/made-up/")

    busy = run("--port", str(port))
    said = finished(busy)
    assert busy.returncode == 1
    assert f"Port {port} can't be used" in said
    assert f"--port {port + 1}" in said

    said = stop(served)
    assert "What you did is kept" in said
    assert "Loaded in" not in said, "the scenario was loaded before"
    assert served.returncode == 0

    fresh = run("--fresh", "--prepare")
    assert "Loaded in" in finished(fresh)
    assert fresh.returncode == 0


def test_it_never_touches_an_installation_that_is_not_the_demos(applicator, settings):
    settings.READINESS_DEMO = True

    for options in ({"prepare": True}, {"prepare": True, "fresh": True}):
        with pytest.raises(CommandError, match="not the demo's"):
            call_command("demo", **options)
    applicator.refresh_from_db()


def test_it_runs_in_demo_mode_only(settings):
    settings.READINESS_DEMO = False

    with pytest.raises(CommandError, match=r"manage\.py demo"):
        call_command("demo", prepare=True)


@pytest.mark.parametrize("port", [-1, 0, 65_536])
def test_a_port_that_is_none_is_said_to_be_none(settings, port):
    settings.READINESS_DEMO = True

    with pytest.raises(CommandError, match=f"Port {port} can't be used: ports go from 1 to 65535"):
        call_command("demo", port=port)
