"""The rank that sorts a builder's list says the same as the sentence that stands in it."""

from hypothesis import given, settings

from readiness.rules.site.assessment import assess
from readiness.rules.site.priority import WAITING, priority_of
from readiness.wording.builder.sentence import say
from readiness.wording.saying import Turn
from tests.rules.site.test_priority import any_site


@settings(max_examples=500)
@given(any_site)
def test_what_ranks_as_the_builders_turn_reads_so_too(facts):
    saying = say(facts, assess(facts))
    assert (priority_of(facts).rank < WAITING) == (saying.turn is Turn.BUILDERS), saying.sentence
