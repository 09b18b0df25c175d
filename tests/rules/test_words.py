"""Numbers with their units, as screens and papers say them."""

import pytest

from readiness.rules.words import amount


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (1, "days", "1 day"),
        (7, "days", "7 days"),
        (1, "working days", "1 working day"),
        (1, "courses", "1 course"),
        (1, "mm", "1 mm"),
        (1, "%", "1%"),
        (0, "days", "0 days"),
    ],
)
def test_one_of_a_counted_unit_is_one_thing(value, unit, words):
    assert amount(value, unit) == words
