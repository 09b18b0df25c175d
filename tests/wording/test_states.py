"""Each state and effect has words, and one form of them."""

import pytest

from readiness.rules.vocabulary import BookingState, Effect, ItemState, Readiness
from readiness.wording import states


@pytest.mark.parametrize(
    "code", [*ItemState, *Effect, *Readiness, *BookingState], ids=lambda code: f"{code!r}"
)
def test_every_state_reads_as_words(code):
    assert states.words(code)[0].isupper()
    assert "_" not in states.words(code)
    assert states.in_a_sentence(code).islower()


def test_a_state_of_another_version_reads_as_its_code():
    assert states.words("half_done") == "half_done"
