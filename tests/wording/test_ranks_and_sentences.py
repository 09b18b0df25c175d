"""The rank that sorts a builder's list says the same as the sentence that stands in it."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings

from readiness.rules.codes import Code
from readiness.rules.site.assessment import assess
from readiness.rules.site.priority import WAITING, priority_of
from readiness.wording.builder.sentence import say
from readiness.wording.saying import Turn
from tests.rules.site.test_priority import any_site
from tests.wording.test_audiences import FACTS, SITE


@settings(max_examples=500)
@given(any_site)
def test_what_ranks_as_the_builders_turn_reads_so_too(facts):
    saying = say(facts, assess(facts))
    assert (priority_of(facts).rank < WAITING) == (saying.turn is Turn.BUILDERS), saying.sentence


@pytest.mark.parametrize("code", Code)
def test_a_reason_that_time_brings_or_ends_changes_the_rank_at_a_moment_foretold(code):
    """From before the facts to long after them, however long the rule values make it take."""
    facts = replace(SITE, **FACTS[code])
    start = facts.now - timedelta(days=400)
    stored = priority_of(replace(facts, now=start))
    for hour in range(0, 440 * 24, 5):
        now = start + timedelta(hours=hour)
        fresh = priority_of(replace(facts, now=now))
        if stored.until is not None and stored.until <= now:
            stored = fresh
        told = f"{code} passes unforetold by _turning_points in readiness/rules/site/priority.py."
        assert fresh.rank == stored.rank, told
