"""The demo's scenario: one applicator's firm, three builders, a dozen sites in every state.

Everything is done through readiness.actions, each thing at its own (past) time, so that the
Record's chains are real and verify.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from readiness import clock
from readiness.demo import stories
from readiness.demo.people import People, make_people
from readiness.demo.steps import SiteSteps, work_off

FIRST_DAY = timedelta(days=45)
"""How long before today the people of the scenario were invited."""


def load(now: datetime | None = None, say: Callable[[str], None] = lambda words: None) -> People:
    """Put the scenario into an empty database and return its people.

    `say` is told, in a few words, what is being made.
    """
    now = now or clock.now()
    with clock.at(now - FIRST_DAY):
        people = make_people()
    add_sites(people, now, say)
    return people


def add_sites(people: People, now: datetime, say: Callable[[str], None]) -> None:
    """Add every site with what happened on it."""
    steps_by_job = {}
    for story in stories.STORIES:
        say(f"{story.lot.street}, {story.lot.suburb}")
        steps = SiteSteps(
            story.lot,
            builder=getattr(people, story.builder),
            staff=people.owner if story.builder == "plover" else people.technician,
            contact=getattr(people, story.contact),
            now=now,
        )
        story.tell(steps, story)
        steps_by_job[story.lot.job_number] = steps
    stories.last_touches(people, steps_by_job)
    work_off()
