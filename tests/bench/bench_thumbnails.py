"""What a thumbnail costs, beside an earlier commit in the same run: processor time a request.

    .venv/bin/python -m tests.bench.bench_thumbnails [--commit 80ddea8]

Checks the earlier commit out into a folder that goes away and asks both for the small size of one
photo, with production's settings, through all middleware, in turns. The figures to look at are the
ratios.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
BEFORE = "80ddea8"
"""Version 0.1."""
TURNS = 3


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


def measured(tree) -> dict:
    with tempfile.TemporaryDirectory(prefix="readiness-bench-") as data:
        environment = {
            **{key: os.environ[key] for key in ("PATH", "HOME", "LANG") if key in os.environ},
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "READINESS_DATA": data,
            "READINESS_HTTPS_REDIRECT": "0",
            "READINESS_REQUIRE_SECOND_FACTOR": "0",
            "READINESS_TASKS": "immediate",
            "SECRET_KEY": "only-for-the-bench-" * 4,
            "ALLOWED_HOSTS": "127.0.0.1",
            "EMAIL_URL": "smtp://127.0.0.1:9",
        }
        script = str(ROOT / "tests/bench/thumbnails_in_tree.py")
        run = subprocess.run(
            [sys.executable, script], cwd=tree, env=environment, stdout=subprocess.PIPE, check=True
        )
    return json.loads(run.stdout)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--commit", default=BEFORE, help="The earlier commit.")
    options = parser.parse_args()
    with checked_out(options.commit) as earlier:
        found = [(measured(earlier), measured(ROOT)) for _ in range(TURNS)]
    print(f"{'a small size':26} {'CPU ms':>15} {'ratio':>6}")
    for name in found[0][0]:
        was, now = (median(pair[place][name] for pair in found) for place in (0, 1))
        print(f"{name:26} {was:6.2f} > {now:6.2f} {was / now:5.1f}x")


if __name__ == "__main__":
    main()
