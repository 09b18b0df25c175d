"""Messages and papers under everything that can happen to them, in any order, on a virtual clock.

Workers stop in the middle, between any two steps; clocks are set; mail and store come and go. Each
worker's try runs as a greenlet that halts at every step, so that they interleave.
"""

import logging
import smtplib
import uuid
from collections import Counter
from contextvars import copy_context
from datetime import UTC, datetime, timedelta
from itertools import count

import greenlet
import pytest
from django.core.mail import EmailMultiAlternatives
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from readiness import clock, errands
from readiness.actions import catching_up, tasks
from readiness.messages import sending, writing
from readiness.models import LastDone, Message, Paper, RecordEntry, freeze
from readiness.operations import watch
from readiness.papers import render
from readiness.papers.render import RenderedPaper
from tests.factories import make_site

pytestmark = pytest.mark.django_db

MODES = ("up", "down", "4xx", "5xx", "drops", "swallows")
"""`drops` breaks off before it has the text; `swallows` takes it and breaks off."""


SEEN: Counter[str] = Counter()
"""What came about in the end: a machine to which nothing happens proves nothing."""


class World:
    """What is outside the portal: time, the mail server, the store, and who is at work."""

    def __init__(self):
        self.now, self.steady = datetime(2026, 12, 1, tzinfo=UTC), 0.0
        self.mail, self.store_is_up = "up", True
        self.delivered: dict[str, int] = {}
        self.worker = ""
        self.tries: dict[str, greenlet.greenlet] = {}

    def halt(self) -> None:
        """A step ends here: in a try that can be left where it is, somebody else goes on."""
        if greenlet.getcurrent().parent is not None:
            greenlet.getcurrent().parent.switch()


class Connection:
    """Stands for a connection to the mail server."""

    def __init__(self, world: World):
        self.world = world

    def open(self):
        self.world.halt()
        if self.world.mail == "down":
            raise ConnectionRefusedError("nobody there")

    def send_messages(self, emails):
        (email,) = emails
        self.world.halt()
        mode = self.world.mail  # of this connection, whatever comes of the server then
        replies = {"4xx": (450, b"later"), "5xx": (550, b"no")}
        if reply := replies.get(mode):
            raise smtplib.SMTPDataError(*reply)
        if mode in ("up", "swallows"):
            number = email.extra_headers["Message-ID"]
            self.world.delivered[number] = self.world.delivered.get(number, 0) + 1
        self.world.halt()
        if mode in ("down", "drops", "swallows"):
            raise smtplib.SMTPServerDisconnected("broke off")

    def close(self):
        pass


class Outbox(RuleBasedStateMachine):
    site = None  # set by the test: an example's own site
    world: World

    @initialize()
    def begin(self):
        self.world.__init__()
        with freeze.without_triggers():
            for model in (Message, Paper, LastDone):
                model.objects.all().delete()
        self.site = make_site()
        self.names = iter(f"host/{number}" for number in range(1, 10_000))
        self.workers = [next(self.names), next(self.names)]
        self.watches = {name: self.watch(name) for name in self.workers}
        self.beats, self.numbers = 0, count(1)
        self.beat()
        for _ in range(2):
            self.post()
            self.ask_for_a_paper()

    def watch(self, name: str) -> watch.Watch:
        return watch.Watch(name, lambda: self.world.steady)

    # What people ask for

    @rule()
    def post(self):
        number = next(self.numbers)
        with clock.at(self.world.now):
            Message.objects.create(
                site=self.site, to=self.person, kind="fix_said", about=uuid.UUID(int=number),
                key=str(number), queued_at=clock.now(), next_try_at=clock.now(),
            )  # fmt: skip

    @rule()
    def ask_for_a_paper(self):
        with clock.at(self.world.now):
            Paper.objects.create(
                site=self.site, kind="guide", subject=f"guide/{next(self.numbers):06d}",
                requested_at=clock.now(), next_try_at=clock.now(),
            )  # fmt: skip

    # What workers do, step by step

    @rule(
        place=st.integers(0, 1),
        kind=st.sampled_from((Message, Message, Paper)),
        which=st.integers(0, 9),
        steps=st.integers(1, 4),
    )
    def work(self, place, kind, which, steps):
        """So many steps of what it has in hand, or of something new."""
        order = "about" if kind is Message else "subject"  # keys are not the same in each run
        name, rows = self.workers[place], list(kind.objects.order_by(order))
        if name not in self.world.tries and rows:
            task = tasks.send_message if kind is Message else tasks.make_paper
            row = rows[which % len(rows)]
            self.world.tries[name] = greenlet.greenlet(lambda: task.call(str(row.pk)))
        for _ in range(steps):
            if name in self.world.tries:
                self.resume(name)

    @precondition(lambda self: self.world.tries)
    @rule(which=st.integers(0, 1), steps=st.integers(1, 3))
    def work_on(self, which, steps):
        name = self.somebody_at_work(which)
        for _ in range(steps):
            if name in self.world.tries:
                self.resume(name)

    def somebody_at_work(self, which: int) -> str:
        at_work = sorted(self.world.tries)
        return at_work[which % len(at_work)]

    def resume(self, name: str) -> None:
        going = self.world.tries[name]
        self.world.worker = name
        with clock.at(self.world.now):
            going.gr_context = copy_context()  # with the time of now
            going.switch()
        if going.dead:
            del self.world.tries[name]

    @precondition(lambda self: self.world.tries)
    @rule(which=st.integers(0, 1))
    def crash(self, which):
        """A process is gone in the middle of a try; another is started in its place."""
        name = self.somebody_at_work(which)
        place = self.workers.index(name)
        left = self.world.tries.pop(name)
        SEEN["crashes"] += 1
        left.throw(greenlet.GreenletExit)
        self.workers[place] = next(self.names)
        self.watches[self.workers[place]] = self.watch(self.workers[place])
        self.beat()

    @rule(place=st.integers(0, 1))
    def look_round(self, place):
        """What a worker does between tasks, every half minute."""
        name = self.workers[place]
        if name in self.world.tries:
            return
        self.world.worker = name
        with clock.at(self.world.now):
            watch.release({name})
            watch.bury(self.watches[name].stopped())
            catching_up.catch_up()

    # What happens outside

    @rule(mode=st.sampled_from(MODES))
    def mail_server(self, mode):
        self.world.mail = mode

    @rule(up=st.booleans())
    def store(self, up):
        self.world.store_is_up = up

    @rule(minutes=st.sampled_from((1, 5, 30, 1500)))
    def time_passes(self, minutes):
        for _ in range(4):
            self.world.now += timedelta(minutes=minutes / 4)
            self.world.steady += minutes * 60 / 4
            self.beat()
            for name in self.workers:
                self.watches[name].stopped()

    @rule(days=st.sampled_from((-400, 0.01, 400)))
    def the_clock_is_set(self, days):
        self.world.now += timedelta(days=days)

    def beat(self) -> None:
        self.beats += 1
        with clock.at(self.world.now):
            for name in self.workers:
                LastDone.note(watch.PREFIX + name, beat=self.beats)

    # What must hold at any time

    @invariant()
    def nothing_is_said_that_is_not_so(self):
        for message in Message.objects.all():
            delivered = self.delivered(message)
            if message.state == Message.State.SENT:
                assert delivered >= 1, "said to be sent, and never left"
            if message.state == Message.State.GIVEN_UP and not message.unsure:
                assert not delivered, "said not to be sent, and it was"
            assert delivered <= 1 + message.unsure, "a double that nobody was told of"

    @invariant()
    def a_paper_is_in_the_record_once_it_is_made_and_only_once(self):
        entries = RecordEntry.objects.filter(site=self.site, verb="paper_made")
        assert sorted(entry.data["paper"] for entry in entries) == sorted(
            str(pk) for pk in Paper.objects.made().values_list("pk", flat=True)
        )

    @invariant()
    def a_worker_that_lives_keeps_what_it_has_in_hand(self):
        for name, going in self.world.tries.items():
            claims = [
                model.objects.under_way().filter(claimed_by=name) for model in errands.ERRANDS
            ]
            assert going.dead or sum(rows.count() for rows in claims) == 1

    def delivered(self, message: Message) -> int:
        return self.world.delivered.get(writing.message_id(message), 0)

    # What comes of it in the end

    def teardown(self):
        """All servers are back for three days, and nobody presses anything."""
        if not hasattr(self, "workers"):
            return
        self.world.mail, self.world.store_is_up = "up", True
        for name in list(self.world.tries):
            while name in self.world.tries:
                self.resume(name)
        for _ in range(8):
            self.time_passes(9 * 60)
            self.look_round(0)
        assert not Message.objects.waiting().exists(), list(Message.objects.waiting().values())
        assert not Paper.objects.waiting().exists()
        self.nothing_is_said_that_is_not_so()
        self.a_paper_is_in_the_record_once_it_is_made_and_only_once()
        for message in Message.objects.filter(unsure=0, state=Message.State.SENT):
            assert self.delivered(message) == 1
        SEEN.update(Message.objects.values_list("state", flat=True))
        SEEN["doubles"] += sum(count > 1 for count in self.world.delivered.values())
        SEEN["papers after a failure"] += Paper.objects.made().filter(attempts__gt=1).count()


@pytest.fixture
def outbox(monkeypatch, contact):
    """The machine, with the world in place of what the portal would reach for."""
    world = World()
    monkeypatch.setattr(logging.root.manager, "disable", logging.CRITICAL)

    def draw(paper, progress):
        world.halt()
        progress("Drawing")
        world.halt()
        if not world.store_is_up:
            raise ConnectionRefusedError("no store")
        return RenderedPaper(b"%PDF " + paper.subject.encode(), 1)

    def write(message):
        headers = {"Message-ID": writing.message_id(message)}
        email = EmailMultiAlternatives("About", "Text", to=[message.address], headers=headers)
        world.halt()
        return writing.Written(email)

    monkeypatch.setattr(errands, "this_worker", lambda: world.worker)
    monkeypatch.setattr(render, "render_paper", draw)
    monkeypatch.setattr(writing, "write_email", write)
    monkeypatch.setattr(sending, "get_connection", lambda: Connection(world))
    return type("OutboxOfThisTest", (Outbox,), {"world": world, "person": contact})


def run(machine, examples: int, steps: int) -> None:
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_whatever_happens_all_is_sent_and_made_once_or_given_up(outbox):
    SEEN.clear()
    run(outbox, examples=3, steps=40)
    assert SEEN["sent"], SEEN


@pytest.mark.long
def test_whatever_happens_for_long(outbox):
    SEEN.clear()
    run(outbox, examples=100, steps=60)
    for what in ("sent", "given_up", "crashes", "papers after a failure"):
        assert SEEN[what], SEEN
