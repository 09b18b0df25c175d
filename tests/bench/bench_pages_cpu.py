"""What pages cost, beside an earlier commit on the same rows: processor time, queries, bytes.

    .venv/bin/python -m tests.bench.bench_pages_cpu [--rounds 5] [--times 20] [--seconds 10]

Checks the earlier commit out into a folder that goes away, lets it make the same rows with its own
code, and asks both for the same pages with production's settings, through all middleware, in turns.
Then serves both with gunicorn (2 workers of 2 threads) and asks for all pages, mixed, four at once.
The figures to look at are the ratios.
"""

import argparse
import http.client
import itertools
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import ExitStack, contextmanager
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
BEFORE = "80ddea8"
"""The commit to compare with: version 0.1."""
AT_ONCE = 4


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--commit", default=BEFORE, help="The earlier commit.")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--times", type=int, default=20, help="Requests of a page in a round.")
    parser.add_argument("--seconds", type=float, default=10, help="Of serving; 0 leaves it out.")
    parser.add_argument("--keep", type=Path, help="Keep the rows here, and use them again.")
    options = parser.parse_args()
    with ExitStack() as stack:
        earlier = stack.enter_context(checked_out(options.commit))
        trees = [
            stack.enter_context(tree(folder, name, options.keep))
            for folder, name in ((earlier, "earlier"), (ROOT, "now"))
        ]
        print_pages(trees, options.rounds, options.times)
        if options.seconds:
            print_served(trees, options.seconds)


@contextmanager
def checked_out(commit):
    """The commit in a work tree of its own, for as long as the block runs."""
    with tempfile.TemporaryDirectory(prefix="readiness-bench-") as folder:
        place = Path(folder) / "tree"
        git = ["git", "-C", str(ROOT), "worktree"]
        subprocess.run(
            [*git, "add", "--detach", str(place), commit], check=True, capture_output=True
        )
        try:
            yield place
        finally:
            subprocess.run([*git, "remove", "--force", str(place)], check=True)


@contextmanager
def tree(folder, name, kept):
    with ExitStack() as stack:
        data = kept / name if kept else stack.enter_context(tempfile.TemporaryDirectory())
        made = Tree(folder, name, Path(data).absolute())
        stack.callback(made.stop)
        yield made


class Tree:
    """One checkout with its data, and a process of it that answers."""

    def __init__(self, folder, name, data):
        self.folder, self.name, self.data = folder, name, data
        static = data / "static"
        self.environment = {
            **{key: os.environ[key] for key in ("PATH", "HOME", "LANG") if key in os.environ},
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "READINESS_DATA": str(data),
            "READINESS_STATIC": str(static),
            "READINESS_HTTPS_REDIRECT": "0",
            "READINESS_REQUIRE_SECOND_FACTOR": "0",
            "SECRET_KEY": "only-for-the-bench-" * 4,
            "ALLOWED_HOSTS": "127.0.0.1",
            "EMAIL_URL": "smtp://127.0.0.1:9",
        }
        if not static.exists():
            self._run("manage.py", "collectstatic", "--noinput", "--verbosity", "0")
        self.process = subprocess.Popen(
            [sys.executable, str(ROOT / "tests/bench/pages_in_tree.py")],
            cwd=folder,
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def _run(self, *command):
        subprocess.run(
            [sys.executable, *command], cwd=self.folder, env=self.environment, check=True
        )

    def ask(self, what, **more):
        self.process.stdin.write(json.dumps({"do": what, **more}) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def stop(self):
        self.process.stdin.close()
        self.process.wait()

    @contextmanager
    def served(self):
        """gunicorn on a port of its own; gives the port."""
        with socket.socket() as sock:
            sock.bind(("127.0.0.1", 0))
            port = sock.getsockname()[1]
        server = subprocess.Popen(
            [
                *(sys.executable, "-m", "gunicorn", "portal.wsgi", "--workers", "2"),
                *("--threads", "2", "--bind", f"127.0.0.1:{port}", "--log-level", "error"),
            ],
            cwd=self.folder,
            env=self.environment,
        )
        try:
            wait_for(port)
            yield port
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait()


def wait_for(port):
    for _ in range(200):
        with socket.socket() as sock:
            if sock.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise SystemExit("The server does not start.")


def print_pages(trees, rounds, times):
    sizes = [one.ask("sizes") for one in trees]
    taken = [[], []]
    for _ in range(rounds):
        for found, one in zip(taken, trees, strict=True):
            found.append(one.ask("round", times=times))
    print(f"{'page':26} {'CPU ms':>15} {'ratio':>6} {'queries':>9} {'kB':>15} {'ratio':>6}")
    for name in sizes[0]:
        was, now = (median(found[name] for found in rounds_) for rounds_ in taken)
        (asked_was, bytes_was), (asked, bytes_) = (found[name] for found in sizes)
        print(
            f"{name:26} {was:6.1f} > {now:6.1f} {was / now:5.1f}x {asked_was:>3} > {asked:>3} "
            f"{bytes_was / 1000:6.1f} > {bytes_ / 1000:6.1f} {bytes_was / bytes_:5.1f}x",
            flush=True,
        )


def print_served(trees, seconds):
    """Requests a second over all pages, mixed; the trees take turns, twice each."""
    rates = [[], []]
    for _ in range(2):
        for found, one in zip(rates, trees, strict=True):
            addresses = one.ask("pages")
            with one.served() as port:
                asked(port, addresses, 2)
                found.append(asked(port, addresses, seconds))
    was, now = (max(found) for found in rates)
    print(f"\nServed: {was:.0f} > {now:.0f} requests a second, {now / was:.1f}x")


def asked(port, addresses, seconds):
    """How many requests a second were answered, by a few clients that ask without a pause."""
    until, counts = time.perf_counter() + seconds, []
    clients = [
        threading.Thread(
            target=client, args=(port, addresses[place:] + addresses[:place], until, counts)
        )
        for place in range(AT_ONCE)
    ]
    for one in clients:
        one.start()
    for one in clients:
        one.join()
    return sum(counts) / seconds


def client(port, addresses, until, counts):
    count = 0
    for _, cookie, path in itertools.cycle(addresses):
        if time.perf_counter() > until:
            break
        connection = http.client.HTTPConnection("127.0.0.1", port)
        connection.request("GET", path, headers={"Cookie": cookie, "User-Agent": "Bench phone"})
        answer = connection.getresponse()
        answer.read()
        if answer.status != 200:
            raise SystemExit(f"{path}: {answer.status}")
        connection.close()
        count += 1
    counts.append(count)


if __name__ == "__main__":
    main()
