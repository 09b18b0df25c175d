"""The demo's scenario: one applicator's firm, three builders, a dozen sites in every state.

Everything is done through readiness.actions, each thing at its own (past) time, so that the
Record's chains are real and verify.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from readiness import clock
from readiness.demo import stories
from readiness.demo.cast import Cast, gather
from readiness.demo.teller import Teller, work_off

FIRST_DAY = timedelta(days=45)
"""How long before today the people of the scenario were invited."""


def load(now: datetime | None = None, say: Callable[[str], None] = lambda words: None) -> Cast:
    """Put the scenario into an empty database and return its cast.

    `say` is told, in a few words, what is being made.
    """
    now = now or clock.now()
    with clock.at(now - FIRST_DAY):
        cast = gather()
    tell_all(cast, now, say)
    return cast


def tell_all(cast: Cast, now: datetime, say: Callable[[str], None]) -> None:
    """Tell every site's story."""
    tellers = {}
    for story in stories.STORIES:
        say(f"{story.lot.street}, {story.lot.suburb}")
        teller = Teller(
            story.lot,
            builder=getattr(cast, story.builder),
            staff=cast.owner if story.builder == "plover" else cast.technician,
            contact=getattr(cast, story.contact),
            now=now,
        )
        story.tell(teller, story)
        tellers[story.lot.job_number] = teller
    stories.last_touches(cast, tellers)
    work_off()
