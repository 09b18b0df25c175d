"""Two people at once, with real threads and real connections: one clear outcome each time.

Runs on whatever database the tests use; tests/test_postgres.py runs it on a real PostgreSQL.
"""

import io
import threading
import uuid

import pytest
from django.core.files.base import ContentFile
from django.db import close_old_connections, connection

from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.photos.keeping import add_photo
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import booking, confirming
from readiness.facts import SiteState
from readiness.models import (
    Booking,
    DefectItem,
    Fix,
    Original,
    Photo,
    ReadinessConfirmation,
    RecordEntry,
)
from tests.factories import (
    all_ticks,
    confirm,
    make_draft,
    make_issued,
    make_item,
    make_photo,
)
from tests.photos.pictures import landmark
from tests.recorded import broken

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*jobs):
    """Run the jobs in threads that start together; returns each one's result or exception."""
    start, results = threading.Barrier(len(jobs)), [None] * len(jobs)

    def run(place, job):
        close_old_connections()
        start.wait()
        try:
            results[place] = job()
        except Exception as error:
            results[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(jobs)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=300)
    return results


def refusals(results) -> list[Refused]:
    return [result for result in results if isinstance(result, Refused)]


def failures(results) -> list[Exception]:
    return [
        result
        for result in results
        if isinstance(result, Exception) and not isinstance(result, Refused)
    ]


@pytest.fixture(autouse=True)
def _nothing_in_the_background(settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}


@pytest.fixture
def item(applicator, contact, site):
    item = make_issued(applicator, site).items.get()
    fixes.report_fixed(contact, item, photos=[make_photo(site, contact)])
    return item


@pytest.mark.parametrize("_round", range(3))
def test_an_item_reviewed_twice_has_the_first_outcome(applicator, item, _round):
    results = at_once(
        lambda: fixes.accept_fix(applicator, item),
        lambda: fixes.send_back(applicator, item, reason="Not yet."),
    )
    assert not failures(results)
    assert len(refusals(results)) == 1
    state = DefectItem.objects.get(pk=item.pk).state
    assert Fix.objects.get(item=item).outcome == state
    assert RecordEntry.objects.filter(verb__in=("fix_accepted", "sent_back")).count() == 1


@pytest.mark.parametrize("_round", range(3))
def test_a_confirmation_while_a_holding_item_is_issued_never_holds(
    applicator, contact, site, _round
):
    report = make_issued(applicator, site, kinds=())
    draft = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    make_item(applicator, draft, kind="dirty_brick")
    results = at_once(
        lambda: confirm(contact, report),
        lambda: issuing.issue_report(applicator, draft),
    )
    assert not failures(results)
    # Either the builder was told of the newer report, or the confirmation lapsed by it.
    assert not SiteState.of(site).assessment.confirmation_in_force
    assert bool(refusals(results)) != ReadinessConfirmation.objects.exists()


def test_the_same_fix_sent_twice_at_once_is_one_fix(applicator, contact, site):
    item = make_issued(applicator, site).items.get()
    photo, fix_id = make_photo(site, contact), uuid.uuid4()
    send = [lambda: fixes.report_fixed(contact, item, photos=[photo], fix_id=fix_id)] * 3
    results = at_once(*send)
    assert [result.pk for result in results] == [fix_id] * 3
    assert item.fixes.count() == 1


def test_the_same_item_sent_twice_at_once_is_one_item(applicator, site):
    report, item_id = make_draft(applicator, site), uuid.uuid4()
    results = at_once(*[lambda: make_item(applicator, report, item_id=item_id, photo=False)] * 3)
    assert {result.pk for result in results} == {item_id}
    assert report.items.count() == 1


def test_two_items_at_once_get_two_numbers(applicator, site):
    report = make_draft(applicator, site)
    results = at_once(*[lambda: make_item(applicator, report, photo=False)] * 4)
    assert sorted(result.number for result in results) == [1, 2, 3, 4]


def test_a_report_issued_twice_at_once_is_issued_once(applicator, site):
    draft = make_draft(applicator, site)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    results = at_once(*[lambda: issuing.issue_report(applicator, draft)] * 2)
    assert [result.number for result in results] == [1, 1]
    assert RecordEntry.objects.filter(verb="report_issued").count() == 1


def test_two_requests_for_a_day_at_once_are_one_booking(contact, site):
    from datetime import timedelta

    from readiness import clock
    from readiness.rules.calendar import calendar_of

    day = calendar_of(site.state).add_working_days(clock.now().date() + timedelta(days=2), 2)
    ask = [lambda: booking.ask_for_booking(contact, site, preferences=[(day, "morning")])] * 3
    results = at_once(*ask)
    assert not failures(results)
    assert Booking.objects.count() == 1


def test_a_confirmation_signed_twice_at_once_is_one(applicator, contact, site):
    report, confirmation_id = make_issued(applicator, site, kinds=()), uuid.uuid4()
    results = at_once(*[lambda: confirm(contact, report, confirmation_id=confirmation_id)] * 2)
    assert not failures(results)
    assert ReadinessConfirmation.objects.count() == 1
    assert all_ticks(site) == {key: list(confirming.TICKS) for key in all_ticks(site)}


def test_the_same_upload_sent_twice_at_once_is_one_photo(contact, site):
    photo_id, content = uuid.uuid4(), jpeg()
    results = at_once(*[lambda: send(contact, site, content, photo_id)] * 3)
    assert [result.pk for result in results] == [photo_id] * 3
    assert Photo.objects.count() == 1
    assert RecordEntry.objects.filter(verb="photo_added").count() == 1


def test_the_same_file_sent_under_two_ids_at_once_is_stored_once(contact, site):
    content = jpeg()
    results = at_once(*[lambda: send(contact, site, content, uuid.uuid4())] * 2)
    assert not failures(results)
    assert Photo.objects.count() == 2
    assert Original.objects.count() == 1


def jpeg() -> bytes:
    picture = io.BytesIO()
    landmark().save(picture, "JPEG")
    return picture.getvalue()


def send(user, site, content, photo_id):
    return add_photo(
        user, site, ContentFile(content, "wall.jpg"), photo_id=photo_id, filename="wall.jpg"
    )


def test_the_chain_holds_when_many_append_at_once(applicator, site):
    runs = list(site.wall_runs.all())
    report = make_draft(applicator, site)
    at_once(*[lambda run=run: drafts.check_run(applicator, report, run) for run in runs])
    assert broken(site) == ""
    assert RecordEntry.objects.filter(site=site, verb="run_checked").count() == len(runs)
