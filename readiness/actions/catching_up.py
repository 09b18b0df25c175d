"""Finding what is due and in no queue: never started, cut off, or waiting for another try.

The worker does it by itself, again and again; nothing here is taken from a worker that lives.
"""

import logging

from django_tasks_db.models import DBTaskResult

from readiness import clock, priorities
from readiness.actions import anchoring, tasks
from readiness.actions.ranking import A_TASK
from readiness.messages import outbox
from readiness.models import Message, Original, Paper, Timestamp
from readiness.photos.moving import move_when_due

log = logging.getLogger(__name__)

AT_MOST = 1000
"""Things of one kind that are queued in one go; the next go finds the rest."""


def catch_up() -> int:
    """Queue what is due, the longest waiting first; returns how many things that was.

    Ranks that time has overtaken are no errand: they are worked out here. Nor are photos that this
    machine keeps for the object store: only this machine can move them.
    """
    outbox.release_held()
    now = clock.now()
    papers = Paper.objects.due(now).order_by("next_try_at")
    emails = Message.objects.due(now).order_by("next_try_at")
    originals = Original.objects.sizes_due(now).order_by("sizes_next_try_at")
    stamps = Timestamp.objects.due(now).order_by("next_try_at")
    queued = (
        _queue(tasks.make_paper, papers)
        + _queue(tasks.send_message, emails)
        + _queue(tasks.make_sizes, originals)
        + _queue(anchoring.ask_timestamp, stamps)
    )
    priorities.renew(A_TASK)
    move_when_due()
    return queued


def _queue(task, rows) -> int:
    """Queue what is not queued yet: a long queue must not grow by what it holds already."""
    queued = _queued(task)
    keys = map(str, rows.values_list("pk", flat=True)[: AT_MOST + len(queued)])
    fresh = [key for key in keys if key not in queued][:AT_MOST]
    for key in fresh:
        task.enqueue(key)
    return len(fresh)


def _queued(task) -> set[str]:
    waiting = DBTaskResult.objects.ready().filter(task_path=task.module_path)
    return {
        argument
        for given in waiting.order_by().values_list("args_kwargs", flat=True).iterator()
        for argument in given["args"]
    }
