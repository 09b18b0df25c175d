"""The drill: back up while people issue reports and send photos, restore elsewhere, look."""

import json
import os
import random
import signal
import subprocess
import time
from contextlib import contextmanager

import pytest

from readiness.operations import layout
from tests.operations.machine import ISSUE, Machine

pytestmark = pytest.mark.long

WRITERS = 2
ROUNDS = 10

WRITE = """
for number in range(1000 * WRITER, 1000 * WRITER + 1000):
    site = Site.objects.order_by("pk")[WRITER]  # a draft is one person's
    report, photo = issue(site, number)
    print(report.pk, photo.original_id, flush=True)
"""
KEPT = """
import json
from readiness.models import Original, SiteReport
reports = SiteReport.objects.exclude(issued_at=None).values_list("pk", flat=True)
print("READY" + json.dumps([*map(str, reports), *Original.objects.values_list("pk", flat=True)]))
"""


class Work:
    """People at work: what they were told is done stands in their files."""

    def __init__(self, machine: Machine, folder):
        self.files = [folder / f"writer-{number}" for number in range(WRITERS)]
        self.processes = []
        for number, path in enumerate(self.files):
            script = f"{ISSUE}\n{WRITE}".replace("WRITER", str(number + 1))
            with path.open("w") as out, path.with_suffix(".err").open("w") as err:
                one = machine.start("shell", "-v0", "-c", script, stdout=out, stderr=err)
            self.processes.append(one)

    def acknowledged(self) -> set[str]:
        lines = [line for path in self.files for line in path.read_text().splitlines(True)]
        return {word for line in lines if line.endswith("\n") for word in line.split()}

    def wait_for(self, more: int) -> None:
        """Until so many more things were done than are by now."""
        wanted = len(self.acknowledged()) + more
        while len(self.acknowledged()) < wanted:
            assert all(one.poll() is None for one in self.processes), self.errors()
            time.sleep(0.05)

    def errors(self) -> str:
        return "".join(path.with_suffix(".err").read_text()[-3000:] for path in self.files)

    def stop(self) -> None:
        for one in self.processes:
            one.kill()
            one.wait()


@contextmanager
def at_work(machine, folder):
    work = Work(machine, folder)
    try:
        work.wait_for(4)
        yield work
    finally:
        work.stop()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def addresses(request):
    """`addresses()`: where a new database is; the empty address is SQLite's in the data folder."""
    if request.param == "sqlite":
        return lambda: ""
    return request.getfixturevalue("databases")


def test_what_was_acknowledged_before_a_backup_is_found_after_its_restore(
    addresses, tmp_path, new_machine
):
    machine, folder = Machine(tmp_path / "installation", addresses()), tmp_path / "back-ups"
    machine.fill()
    promised = {}
    with at_work(machine, tmp_path) as work:
        for _ in range(3):
            done = work.acknowledged()
            machine.manage("backup", str(folder))
            promised[layout.whole_ones(folder)[-1]] = done
            work.wait_for(2)
    assert len(promised) == 3
    for name, done in promised.items():
        other = new_machine(addresses())
        said = other.manage("restore", str(folder), "--at", name)
        assert "Whole: 3 sites" in said
        assert len(done) >= 4
        assert done <= set(other.ask(KEPT))
        assert other.bad_pages() == []


def backed_up(machine, folder, kill_after: float | None = None) -> float | None:
    """How many seconds a back-up wrote; None when it was killed so many after its first file."""
    process = machine.start("backup", str(folder), start_new_session=True)
    while process.poll() is None and not list(folder.glob(".unfinished*")):
        time.sleep(0.005)
    started = time.monotonic()
    try:
        process.communicate(timeout=kill_after)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        return None
    return time.monotonic() - started


def test_a_killed_backup_never_counts(addresses, tmp_path, new_machine):
    machine, folder = Machine(tmp_path / "installation", addresses()), tmp_path / "back-ups"
    machine.fill()
    chance = random.Random(8)
    killed = 0
    with at_work(machine, tmp_path):
        usual = backed_up(machine, folder)
        for _ in range(ROUNDS):
            before = layout.whole_ones(folder)
            killed += backed_up(machine, folder, chance.uniform(0, usual)) is None
            after = layout.whole_ones(folder)
            assert set(before) <= set(after)
            for name in set(after) - set(before):  # it was done before the kill came
                machine.manage("backup", str(folder), "--verify", name)
        machine.manage("backup", str(folder), "--keep", "1")
    assert killed >= 3
    assert len(layout.whole_ones(folder)) == 1
    machine.manage("backup", str(folder), "--verify")
    assert list(folder.glob(".unfinished*")) == []
    assert "Whole: 3 sites" in new_machine(addresses()).manage("restore", str(folder))


def test_one_wrong_bit_anywhere_is_found_and_named(addresses, tmp_path):
    machine, folder = Machine(tmp_path / "installation", addresses()), tmp_path / "back-ups"
    machine.fill()
    machine.manage("backup", str(folder))
    made, chance = layout.find(folder), random.Random(3)
    files = [*made.iterdir(), *(folder / "files").glob("*/*")]
    for path in chance.sample(files, 8):
        content = path.read_bytes()
        at = chance.randrange(len(content))
        path.write_bytes(content[:at] + bytes([content[at] ^ 4]) + content[at + 1 :])
        said = machine.refused("backup", str(folder), "--verify")
        assert path.name in said or made.name in said, (path, at, said)
        path.write_bytes(content)
    machine.manage("backup", str(folder), "--verify")
    assert json.loads((made / "manifest.json").read_text())["rows"]["readiness_site"] == 3
