"""How much memory installations on one machine take while nobody uses them.

Makes three with `new_installation`, starts what their units start, asks each for its sign-in page,
and adds up the proportional share (Pss) of every process. Baseline in the same run: one Python
process with nothing but Django set up.

    .venv/bin/python -m tests.bench.bench_idle_memory
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.operations.machine import PROJECT
from tests.operations.test_installing import MAIL, ask, made, own_environment, start, variables

FIRMS = ("one", "two", "three")
BARE = (
    "import django; from django.conf import settings; settings.configure(); django.setup(); "
    "print('up', flush=True); input()"
)


def share_mb(pid: int) -> float:
    """Proportional set size of a process and all below it, in MB."""
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    own = next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) * 1024 / 1e6
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return own + sum(share_mb(int(child)) for child in children)


def bare_django_mb() -> float:
    command = [sys.executable, "-c", BARE]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        process.stdout.readline()
        share = share_mb(process.pid)
        process.communicate(b"\n")
    return share


def main() -> None:
    bare = bare_django_mb()
    with tempfile.TemporaryDirectory(prefix="readiness-firms-") as folder:
        root, static = Path(folder), f"{folder}/static"
        firms = [made(root, name, READINESS_NEW_EMAIL_URL=MAIL) for name in FIRMS]
        collect = [sys.executable, "manage.py", "collectstatic", "--noinput", "-v0"]
        environment = own_environment(firms[0]) | {"READINESS_STATIC": static}
        subprocess.run(collect, cwd=PROJECT, env=environment, check=True)
        running = []
        try:
            for firm in firms:
                both = [start(firm, unit, READINESS_STATIC=static) for unit in ("web", "worker")]
                running.append(both)
                for _ in range(5):
                    ask(int(variables(firm)["READINESS_PORT"]), "/accounts/login/")
            time.sleep(10)
            shares = [[share_mb(process.pid) for process in both] for both in running]
        finally:
            for process in (process for both in running for process in both):
                process.terminate()
                process.wait(60)
    print(f"bare Django: {bare:.0f} MB")
    for name, (web, worker) in zip(FIRMS, shares, strict=True):
        print(
            f"{name}: site (1 process) {web:.0f} MB, worker {worker:.0f} MB, "
            f"together {web + worker:.0f} MB, {(web + worker) / bare:.1f} times bare Django"
        )


if __name__ == "__main__":
    main()
