"""Keeping the stored ranks of all sites up to date, in the background."""

from functools import partial

from django.db import transaction
from django_tasks import task

from readiness import priorities

A_TASK = 2000
"""How many sites one task works out before it lets others have a turn."""


@task()
def renew_ranks() -> None:
    """Work out the ranks that are stale, as many tasks as it takes."""
    if priorities.renew(A_TASK) == A_TASK:
        renew_ranks.enqueue()


def policy_changed() -> None:
    """A setting changed that bears on every site; call it in the transaction of the change."""
    priorities.mark_all()
    transaction.on_commit(partial(renew_ranks.enqueue), robust=True)
