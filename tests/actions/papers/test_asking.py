"""Papers and photo sizes in the background: made once, tried again, given up and shown."""

import contextlib
import io
from datetime import timedelta

import pytest
from django.core.files.storage import storages
from django.db import OperationalError

from readiness import clock, errands
from readiness.actions import tasks
from readiness.actions.catching_up import catch_up
from readiness.actions.papers import asking
from readiness.actions.photos.keeping import add_photo
from readiness.models import Message, Original, Paper, RecordEntry
from readiness.papers import render
from readiness.papers.render import RenderedPaper
from readiness.photos import store
from tests.factories import make_issued, make_photo
from tests.photos.pictures import jpeg, scene

pytestmark = pytest.mark.django_db
FOR_GOOD = timedelta(days=30)


@pytest.fixture
def report(applicator, contact, site):
    return make_issued(applicator, site, notify=[contact.memberships.get()])


@pytest.fixture
def paper(report) -> Paper:
    return report.papers.filter(kind=Paper.Kind.SITE_REPORT).get()


@pytest.fixture
def quick(monkeypatch):
    """Papers that take no time to make; `quick.fault` is raised instead, `quick.made` counts."""

    class Quick:
        fault: Exception | None = None
        made = 0

        def __call__(self, paper, progress):
            progress("Drawing")
            if self.fault:
                raise self.fault
            self.made += 1
            return RenderedPaper(b"%PDF " + paper.subject.encode(), 1)

    quick = Quick()
    monkeypatch.setattr(render, "render_paper", quick)
    return quick


def make(paper: Paper) -> Paper:
    """One try at the time it is for, then the row as it stands."""
    paper.refresh_from_db()
    with clock.at(paper.next_try_at):
        tasks.make_paper.call(str(paper.pk))
    paper.refresh_from_db()
    return paper


def entries(verb: str) -> int:
    return RecordEntry.objects.filter(verb=verb).count()


def tick(minutes: float, start, step: float = 0.5):
    """What the workers do in so many minutes: every half minute they catch up."""
    for done in range(int(minutes / step)):
        with clock.at(start + timedelta(minutes=done * step)):
            catch_up()


def test_a_paper_is_made_once_however_often_it_is_asked_for(quick, paper):
    for _ in range(3):
        tasks.make_paper.call(str(paper.pk))
    paper.refresh_from_db()
    assert (paper.state, paper.attempts, quick.made) == (Paper.State.MADE, 1, 1)
    assert entries("paper_made") == 1


def test_how_far_a_paper_is_stands_beside_it_until_it_is_made(monkeypatch, paper):
    seen = []

    def draw(drawn, progress):
        for words in ("Drawing", "Photo 12 of 30 " + "x" * 100):
            progress(words)
            seen.append(Paper.objects.get(pk=drawn.pk).progress)
        return RenderedPaper(b"%PDF", 1)

    monkeypatch.setattr(render, "render_paper", draw)
    make(paper)
    assert seen == ["Drawing", "Photo 12 of 30 " + "x" * 65]
    assert Paper.objects.get(pk=paper.pk).progress == ""


def test_what_is_being_made_is_not_taken_by_catching_up(quick, paper):
    errands.claim(Paper, paper.pk)
    with clock.at(clock.now() + timedelta(days=1)):
        catch_up()
        tasks.make_paper.call(str(paper.pk))
    paper.refresh_from_db()
    assert (paper.state, paper.attempts) == (Paper.State.MAKING, 1)


def test_a_worker_that_comes_late_makes_no_second_entry(quick, paper, monkeypatch):
    """It was taken for dead, and another one made the paper meanwhile."""
    slow = errands.claim(Paper, paper.pk)
    errands.release({slow.claimed_by})
    tasks.make_paper.call(str(paper.pk))
    tasks._store(slow, b"%PDF late", 1)
    tasks._paper_failed(slow, RuntimeError("late"))
    paper.refresh_from_db()
    assert paper.state == Paper.State.MADE
    assert entries("paper_made") == 1
    assert entries("paper_failed") == 0


@pytest.mark.long
@pytest.mark.parametrize(
    "outage", [ConnectionRefusedError("store away"), OperationalError("server closed")]
)
def test_an_outage_of_ten_minutes_ends_with_everything_made_and_sent(
    quick, report, mail_server, contact, outage
):
    """The store and the mail server are away; nobody presses anything."""
    start = clock.now()
    quick.fault, mail_server.faults["connect"] = outage, "421 Away"
    tick(10, start)
    assert not report.papers.made().exists()
    assert Paper.objects.stumbling().count() == report.papers.count()
    quick.fault = None
    mail_server.faults.clear()
    tick(40, start + timedelta(minutes=10))
    assert not Paper.objects.waiting().exists()
    assert not Paper.objects.failed().exists()
    assert not Message.objects.waiting().exists()
    assert [email["To"] for email in mail_server.taken] == [contact.email]
    assert entries("paper_made") == report.papers.count()


def test_a_fault_is_given_up_after_the_last_pause_and_shown(quick, paper):
    quick.fault = RuntimeError("no font")
    pauses = []
    while make(paper).state == Paper.State.QUEUED:
        assert paper in Paper.objects.stumbling()
        pauses.append(paper.next_try_at - paper.started_at)
    assert [pause / timedelta(minutes=1) for pause in pauses] == [1, 5, 30]
    assert paper.state == Paper.State.FAILED
    assert "no font" in paper.error
    assert entries("paper_failed") == 1
    assert list(Paper.objects.failed()) == [paper]
    with clock.at(clock.now() + FOR_GOOD):
        assert paper not in Paper.objects.due(clock.now())


def test_the_applicator_tries_again_at_once(quick, paper, applicator):
    quick.fault = ConnectionRefusedError("away")
    make(paper)
    quick.fault = None
    again = asking.retry_paper(applicator, paper)
    assert again in Paper.objects.due(clock.now())
    assert make(paper).state == Paper.State.MADE


def test_one_paper_that_can_t_be_made_does_not_hold_the_e_mail(
    quick, report, mail_server, monkeypatch
):
    """Everybody is told in time, and that not all papers are made."""
    start, good = clock.now(), quick.__call__

    def all_but_one(paper, progress):
        if paper.kind == Paper.Kind.PHOTO_RECORD:
            raise RuntimeError("no font")
        return good(paper, progress)

    monkeypatch.setattr(render, "render_paper", all_but_one)
    tick(50, start)
    assert Paper.objects.failed().get().kind == Paper.Kind.PHOTO_RECORD
    (email,) = mail_server.taken
    text = " ".join(email.get_body(("plain",)).get_content().split())
    assert "Some of the papers are not made yet" in text
    assert f"/builder/sites/{report.site_id}/" in text


@pytest.mark.parametrize("fault", [None, RuntimeError("no font")])
def test_an_e_mail_goes_as_soon_as_the_last_paper_is_made_or_given_up(quick, report, fault):
    *others, last = report.papers.all()
    for paper in others:
        make(paper)
    quick.fault = fault
    while last.next_try_at:
        assert Message.objects.get().state == Message.State.HELD
        last = make(last)
    assert last.state == (Paper.State.FAILED if fault else Paper.State.MADE)
    assert Message.objects.get().state == Message.State.WAITING


@pytest.mark.long
def test_an_e_mail_waits_for_its_papers_an_hour_at_most(quick, report, mail_server):
    start = clock.now()
    quick.fault = ConnectionRefusedError("away")
    tick(59, start)
    assert not mail_server.taken
    tick(3, start + timedelta(minutes=60))
    assert len(mail_server.taken) == 1


def test_an_e_mail_whose_papers_were_made_before_a_crash_is_found(quick, report, mail_server):
    """The worker died between writing the last paper down and letting the e-mail go."""
    for paper in report.papers.all():
        made = errands.claim(Paper, paper.pk)
        tasks._note_made(made, "0" * 64, "00/x.pdf", 1, 1)
    assert Message.objects.get().state == Message.State.HELD
    catch_up()
    catch_up()
    assert Message.objects.get().state == Message.State.SENT
    assert len(mail_server.taken) == 1


def test_what_waits_in_the_queue_is_not_queued_again(quick, report, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    assert catch_up() >= report.papers.count()
    assert catch_up() == 0


def test_a_letter_about_papers_that_are_all_made_says_nothing_of_them(quick, report, mail_server):
    tick(2, clock.now())
    tick(2, clock.now() + timedelta(minutes=2))
    text = mail_server.taken[0].get_body(("plain",)).get_content()
    assert "not all made" not in text


@pytest.fixture
def original(site) -> Original:
    return make_photo(site).original


@pytest.mark.long
def test_sizes_are_tried_again_with_pauses_and_given_up(original, monkeypatch):
    """A store that was away used to leave them without sizes for good: an error ended the tries."""
    tries = []

    def away(original):
        tries.append(clock.now())
        raise ConnectionRefusedError("away")

    monkeypatch.setattr("readiness.photos.sizes._make", lambda original, *given: away(original))
    now = clock.now()
    for hour in range(60):
        for minute in range(0, 60, 15):
            with clock.at(now + timedelta(hours=hour, minutes=minute)):
                catch_up()
    original.refresh_from_db()
    assert original.sizes_given_up_at
    assert len(tries) == 7
    assert list(Original.objects.without_sizes()) == [original]
    assert not Original.objects.sizes_waiting().exists()


def test_sizes_that_kill_their_worker_each_time_are_given_up(original, monkeypatch):
    """No exception that could be caught: the system ended the process, for its memory say."""

    class Killed(BaseException):
        pass

    tries = []

    def kills(original):
        tries.append(original)
        raise Killed

    monkeypatch.setattr("readiness.photos.sizes.make_sizes", kills)
    now = clock.now()
    for hour in range(60):
        with clock.at(now + timedelta(hours=hour)), contextlib.suppress(Killed):
            tasks.make_sizes.call(original.pk)
    original.refresh_from_db()
    assert original.sizes_given_up_at
    assert original.sizes_error == errands.CUT_OFF
    assert len(tries) == 7


def test_of_a_long_error_as_much_is_kept_as_there_is_room_for(original, monkeypatch):
    monkeypatch.setattr("readiness.photos.sizes.make_sizes", lambda original: int("x" * 400))
    tasks.make_sizes.call(original.pk)
    original.refresh_from_db()
    assert original.sizes_error.startswith("invalid literal")
    original.clean_fields()


def test_sizes_are_made_when_the_store_is_back(applicator, site, monkeypatch):
    with monkeypatch.context() as patch:
        put = store.put

        def only_originals(source, name, **options):
            if name.startswith("sizes/"):
                raise store.StoreError("away")
            put(source, name, **options)

        patch.setattr(store, "put", only_originals)
        photo = add_photo(applicator, site, io.BytesIO(jpeg(scene(1))))
        catch_up()
    original = Original.objects.get()
    assert original.sizes_error
    with clock.at(clock.now() + timedelta(minutes=10)):
        catch_up()
    original.refresh_from_db()
    assert original.sizes_made_at
    assert original.sizes_error == ""
    assert storages["photos"].exists(
        f"sizes/{photo.original_id[:2]}/{photo.original_id[2:4]}/{photo.original_id}-small.jpg"
    )
