"""Doing tasks that wait, by the loop of django-tasks-db: it has no public one but its command.

It was read in the version `READ_IN`, which a test compares with what is installed.
"""

from collections.abc import Callable

from django_tasks_db.management.commands.db_worker import Worker

from readiness.read_once import reading_once

READ_IN = "0.13.0"


class TaskLoop(Worker):
    """`run()` does the waiting tasks; `running = False` ends it after the one that it has."""

    after_each: Callable[[], None] = staticmethod(lambda: None)

    def run_task(self, db_task_result) -> None:
        try:
            with reading_once():
                super().run_task(db_task_result)
        finally:
            self.after_each()


def until_none_waits(
    name: str, at_most: int | None = None, *, after_each: Callable[[], None] = lambda: None
) -> TaskLoop:
    """Its `run()` does the waiting tasks, at most so many, and returns when there are none left.

    `after_each` is called after each task, `name` is whose claims they are.
    """
    loop = TaskLoop(
        queue_names=["*"],
        excluded_queue_names=[],
        interval=0,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=at_most,
        worker_id=name,
    )
    loop.after_each = after_each
    return loop
