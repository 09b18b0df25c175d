"""`catch_up` by hand, as after a worker was away."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django_tasks_db.models import DBTaskResult

from readiness import clock
from readiness.models import Message, Original
from tests.factories import make_issued

pytestmark = pytest.mark.django_db


def said() -> str:
    out = StringIO()
    call_command("catch_up", stdout=out)
    return out.getvalue().strip()


@pytest.fixture
def _queue(settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}


def queued(task: str) -> set[str]:
    rows = DBTaskResult.objects.filter(task_path__endswith=f".{task}")
    return {argument for row in rows for argument in row.args_kwargs["args"]}


@pytest.mark.usefixtures("_queue")
def test_it_queues_what_is_due_and_says_how_much(applicator, contact, site):
    report = make_issued(applicator, site, notify=[contact.memberships.get()])
    assert said() == "Queued 4 things. A worker does them."
    assert queued("make_paper") == {str(paper.pk) for paper in report.papers.all()}
    assert queued("make_sizes") == set(Original.objects.values_list("pk", flat=True))
    assert queued("send_message") == set()  # it waits for the papers


@pytest.mark.usefixtures("_queue")
def test_what_is_queued_already_is_not_queued_again(applicator, site):
    make_issued(applicator, site)
    said()
    assert said() == "Queued 0 things. A worker does them."


@pytest.mark.usefixtures("_queue")
def test_an_e_mail_that_waited_for_papers_in_vain_goes(applicator, contact, site):
    make_issued(applicator, site, kinds=(), notify=[contact.memberships.get()])
    with clock.at(clock.now() + timedelta(hours=1, minutes=1)):
        said()
    message = Message.objects.get()
    assert message.state == Message.State.WAITING
    assert queued("send_message") == {str(message.pk)}
