"""The background worker: whom it takes things from, what it sweeps up, what it outlives."""

import os
import time
from datetime import timedelta
from threading import Event, Thread

import pytest
from django.conf import settings as django_settings
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.db import OperationalError
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from readiness import clock, errands
from readiness.models import LastDone, Message, Paper
from readiness.operations import sweeping, watch
from readiness.operations.watch import LEASE_SECONDS, PREFIX, Watch
from readiness.operations.worker import Worker
from readiness.photos import store
from tests.factories import make_issued

OTHER = "elsewhere/7-abc"
DATABASE = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}


class Steady:
    """A steady clock that goes when told."""

    def __init__(self):
        self.seconds = 0.0

    def __call__(self) -> float:
        return self.seconds


@pytest.fixture
def steady() -> Steady:
    return Steady()


@pytest.fixture
def eye(steady) -> Watch:
    return Watch("me", steady)


@pytest.fixture
def paper(db, applicator, site) -> Paper:
    return make_issued(applicator, site).papers.first()


def claimed_by(worker: str, paper: Paper) -> Paper:
    claimed = errands.claim(Paper, paper.pk)
    Paper.objects.filter(pk=paper.pk).update(claimed_by=worker)
    claimed.claimed_by = worker
    return claimed


def beat(worker: str, count: int) -> None:
    LastDone.note(PREFIX + worker, beat=count)


@pytest.mark.django_db
class TestWhoHasStopped:
    def test_a_worker_that_beats_keeps_what_it_has_however_long_it_takes(self, eye, steady, paper):
        claimed_by(OTHER, paper)
        for count in range(100):
            beat(OTHER, count)
            steady.seconds += LEASE_SECONDS / 4
            assert eye.stopped() == set()

    def test_a_worker_that_was_killed_loses_it_after_its_lease(self, eye, steady, paper):
        claimed_by(OTHER, paper)
        beat(OTHER, 3)
        assert eye.stopped() == set()
        steady.seconds += LEASE_SECONDS - 1
        assert eye.stopped() == set()
        steady.seconds += 1
        assert eye.stopped() == {OTHER}
        assert watch.bury({OTHER}) == 1
        paper.refresh_from_db()
        assert (paper.state, paper.claimed_by, paper.attempts) == (Paper.State.QUEUED, "", 1)
        assert paper in Paper.objects.due(clock.now())
        assert not LastDone.objects.filter(name=PREFIX + OTHER).exists()

    @pytest.mark.parametrize("step", [timedelta(days=400), timedelta(days=-400)])
    def test_a_clock_that_is_set_takes_nothing_from_a_worker_that_lives(
        self, eye, steady, paper, step
    ):
        claimed_by(OTHER, paper)
        beat(OTHER, 1)
        eye.stopped()
        with clock.at(clock.now() + step):
            steady.seconds += LEASE_SECONDS / 2
            assert eye.stopped() == set()
            beat(OTHER, 2)
            steady.seconds += LEASE_SECONDS / 2
            assert eye.stopped() == set()
            steady.seconds += LEASE_SECONDS
            assert eye.stopped() == {OTHER}, "nor is anything left with a dead one"

    def test_one_without_a_heart_is_known_by_what_it_has_in_hand(self, eye, steady, paper, site):
        """Such as a web process that does the work itself."""
        claimed_by(OTHER, paper)
        eye.stopped()
        steady.seconds += LEASE_SECONDS / 2
        claimed_by(OTHER, paper.report.papers.last())
        assert eye.stopped() == set()
        steady.seconds += LEASE_SECONDS / 2
        assert eye.stopped() == set(), "it has taken something else meanwhile"
        steady.seconds += LEASE_SECONDS / 2
        assert eye.stopped() == {OTHER}

    def test_nobody_takes_itself_for_dead(self, eye, steady, paper):
        claimed_by("me", paper)
        eye.stopped()
        steady.seconds += 9 * LEASE_SECONDS
        assert eye.stopped() == set()

    def test_tasks_of_a_dead_worker_stop_looking_alive(self, eye, steady):
        task = DBTaskResult.objects.create(
            args_kwargs={"args": [], "kwargs": {}},
            task_path="readiness.actions.tasks.make_paper",
            backend_name="default",
            run_after=timezone.now(),
        )
        task.claim(OTHER)
        eye.stopped()
        steady.seconds += LEASE_SECONDS
        watch.bury(eye.stopped())
        assert not DBTaskResult.objects.running().exists()
        assert DBTaskResult.objects.failed().get().traceback == "The worker stopped."

    def test_two_processes_never_have_one_name(self):
        mine = errands.this_worker()
        assert str(os.getpid()) in mine
        child_reads, child_writes = os.pipe()
        if os.fork() == 0:
            os.write(child_writes, errands.this_worker().encode())
            os._exit(0)
        os.wait()
        assert os.read(child_reads, 200).decode() not in (mine, "")


def age(path, days: float) -> None:
    then = time.time() - days * 24 * 3600
    os.utime(path, (then, then))


@pytest.mark.django_db
class TestSweeping:
    def test_leftovers_of_a_day_go_and_younger_ones_stay(self, settings, tmp_path):
        settings.FILE_UPLOAD_TEMP_DIR = str(tmp_path)
        old, young = tmp_path / "tmpabc.upload.jpg", tmp_path / "tmpdef.upload.jpg"
        other = tmp_path / "somebody-else"
        folder = store.local_path(store.INCOMING)
        (folder / "photo-old").mkdir(parents=True)
        (folder / "photo-young").mkdir()
        (folder / "photo-old" / "original").write_bytes(b"x")
        for path in (old, young, other):
            path.write_bytes(b"x")
        for path in (old, other, folder / "photo-old"):
            age(path, 1.1)
        sweeping.sweep()
        assert not old.exists()
        assert young.exists()
        assert other.exists()
        assert [path.name for path in folder.iterdir()] == ["photo-young"]

    def test_sessions_and_task_results_that_ran_out_go(self, client_for, applicator):
        client_for(applicator)
        client_for(applicator)
        first = Session.objects.first()
        Session.objects.filter(pk=first.pk).update(expire_date=clock.now() - timedelta(days=1))
        for status, days in (("SUCCESSFUL", 1), ("SUCCESSFUL", 3), ("FAILED", 3), ("FAILED", 15)):
            task = DBTaskResult.objects.create(
                args_kwargs={"args": [], "kwargs": {}},
                task_path="readiness.actions.tasks.make_paper",
                backend_name="default",
                run_after=timezone.now(),
                status=status,
            )
            task.finished_at = clock.now() - timedelta(days=days)
            task.save()
        sweeping.sweep()
        assert Session.objects.count() == 1
        kept = DBTaskResult.objects.order_by("status").values_list("status", flat=True)
        assert list(kept) == ["FAILED", "SUCCESSFUL"]

    def test_one_part_that_fails_stops_no_other(self, monkeypatch):
        done = []

        def fails():
            raise OSError("no room")

        monkeypatch.setattr(sweeping, "_PARTS", (fails, lambda: done.append(1)))
        sweeping.sweep()
        assert done == [1]


@pytest.fixture
def running(settings, monkeypatch):
    """`running()`: a worker in a thread, with the database's own queue."""
    settings.TASKS = DATABASE
    monkeypatch.setattr(watch, "BEAT_SECONDS", 0.2)
    monkeypatch.setattr(watch, "LEASE_SECONDS", 0.8)
    workers = []

    def start(**options) -> Worker:
        worker = Worker(pause_seconds=0.05, **options)
        thread = Thread(target=worker.run, daemon=True)
        thread.start()
        workers.append((worker, thread))
        return worker

    yield start
    for worker, thread in workers:
        worker.stop()
        thread.join(20)
        assert not thread.is_alive()


def wait_until(holds, seconds: float = 20) -> None:
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, "it never came to it"
        time.sleep(0.05)


@pytest.mark.django_db(transaction=True)
class TestTheLoop:
    def test_it_does_what_was_lost_without_anybody_asking(
        self, running, applicator, contact, site, mailoutbox, monkeypatch, settings
    ):
        """Rows without a task, as a crash between commit and queue leaves them."""
        settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
        report = make_issued(applicator, site, notify=[contact.memberships.get()])
        settings.TASKS = DATABASE
        worker = running()
        wait_until(lambda: mailoutbox, seconds=60)
        assert report.papers.made().count() == report.papers.count()
        (row,) = LastDone.objects.filter(name__startswith=PREFIX)
        assert row.name == PREFIX + worker.name
        seen = row.details["beat"]
        wait_until(lambda: LastDone.objects.get(pk=row.pk).details["beat"] > seen)
        worker.stop()
        wait_until(lambda: not LastDone.objects.filter(pk=row.pk).exists())

    def test_it_takes_over_from_a_worker_that_was_killed(
        self, running, applicator, contact, site, mailoutbox, settings
    ):
        settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
        make_issued(applicator, site, notify=[contact.memberships.get()])
        Message.objects.update(state=Message.State.WAITING)
        errands.claim(Message, Message.objects.get().pk)
        Message.objects.update(claimed_by=OTHER)
        beat(OTHER, 5)
        settings.TASKS = DATABASE
        running()
        wait_until(lambda: mailoutbox)
        wait_until(lambda: Message.objects.get().state == Message.State.SENT)
        assert not LastDone.objects.filter(name=PREFIX + OTHER).exists()

    @pytest.mark.long
    def test_it_outlives_a_database_that_is_away(
        self, running, applicator, contact, site, mailoutbox, monkeypatch
    ):
        down = [True]
        tasks_ready = type(DBTaskResult.objects.all()).ready

        def ready(self):
            if down:
                raise OperationalError("server closed the connection unexpectedly")
            return tasks_ready(self)

        monkeypatch.setattr(type(DBTaskResult.objects.all()), "ready", ready)
        make_issued(applicator, site, notify=[contact.memberships.get()])
        running()
        time.sleep(1)
        assert not mailoutbox
        down.clear()
        wait_until(lambda: mailoutbox, seconds=60)

    def test_what_it_could_not_note_it_does_again(
        self, running, applicator, contact, site, mailoutbox, monkeypatch
    ):
        """The database went away between the mail server's answer and the note."""
        from readiness.messages import delivery

        notes = []
        note = delivery._note

        def lost_once(*args):
            notes.append(args)
            if len(notes) == 1:
                raise OperationalError("server closed the connection unexpectedly")
            note(*args)

        monkeypatch.setattr(delivery, "_note", lost_once)
        make_issued(applicator, site, notify=[contact.memberships.get()])
        Message.objects.update(state=Message.State.WAITING)
        running()
        wait_until(lambda: Message.objects.get().state == Message.State.SENT)
        message = Message.objects.get()
        assert (message.attempts, message.unsure) == (2, 1)
        assert [email.extra_headers["Message-ID"] for email in mailoutbox] == [
            mailoutbox[0].extra_headers["Message-ID"]
        ] * 2

    @pytest.mark.long
    def test_one_that_hangs_in_a_task_counts_as_stopped(
        self, running, applicator, contact, site, monkeypatch, steady
    ):
        """A mail server that sends one byte now and then is never silent for long enough."""
        from readiness.messages import delivery

        go_on, stuck = Event(), Event()
        monkeypatch.setattr(watch, "STUCK_SECONDS", 1.5)
        monkeypatch.setattr(delivery.sending, "hand_over", lambda *_, **__: go_on.wait(300))
        monkeypatch.setattr(delivery, "_note", lambda *_: None)
        make_issued(applicator, site, notify=[contact.memberships.get()])
        Paper.objects.all().delete()
        Message.objects.update(state=Message.State.WAITING)
        worker = running(on_stuck=stuck.set)
        try:
            wait_until(lambda: Message.objects.under_way().exists())
            assert stuck.wait(60)
            eye = Watch("me", steady)
            eye.stopped()
            time.sleep(3 * watch.BEAT_SECONDS)
            steady.seconds += watch.LEASE_SECONDS
            assert eye.stopped() == {worker.name}
        finally:
            go_on.set()


def test_a_worker_makes_no_sense_where_requests_do_the_work(settings):
    assert "immediate" in django_settings.TASKS["default"]["BACKEND"]
    with pytest.raises(CommandError, match="READINESS_TASKS"):
        call_command("worker")


def test_the_name_of_the_worker_in_version_0_1_still_starts_one():
    from django.core.management import get_commands

    assert get_commands()["db_worker"] == "readiness"
    with pytest.raises(CommandError, match="READINESS_TASKS"):
        call_command("db_worker", "--interval", "1")


@pytest.mark.django_db
def test_a_worker_that_never_began_to_beat_ends_in_order():
    heart = watch.Heart("never-began", lambda error: None)
    heart.stop()
    assert not LastDone.objects.filter(name=watch.PREFIX + "never-began").exists()


def test_an_outage_is_told_with_its_traceback_once_and_then_in_a_line_a_round(
    db, monkeypatch, caplog
):
    """Three rounds without the database, one that works, and one without it again."""
    worker = Worker(pause_seconds=0)
    monkeypatch.setattr("readiness.operations.worker.LONGEST_PAUSE_SECONDS", 0)
    monkeypatch.setattr("readiness.operations.worker.close_old_connections", lambda: None)
    monkeypatch.setattr("readiness.operations.worker.connections.close_all", lambda: None)
    monkeypatch.setattr(worker._heart, "start", lambda: None)
    rounds = iter("---+-")

    def one_round():
        if (found := next(rounds, None)) is None:
            worker.stop()
        elif found == "-":
            raise OperationalError("connection refused\nIs the server running?")

    monkeypatch.setattr(worker, "_round", one_round)
    worker.run()
    told = [record for record in caplog.records if record.name == "readiness.operations.worker"]
    assert [bool(record.exc_info) for record in told] == [True, False, False, True]
    assert all("\n" not in record.getMessage() for record in told)
    assert "connection refused Is the server running?" in told[1].getMessage()
