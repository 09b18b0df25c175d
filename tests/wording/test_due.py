"""Headlines that count each due date by itself."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.wording.due import to_fix_in_full, to_fix_words

TODAY = date(2026, 11, 30)
LATE, LATER_LATE = date(2026, 11, 24), date(2026, 11, 25)
TOMORROW, FRIDAY, MONDAY = date(2026, 12, 1), date(2026, 12, 4), date(2026, 12, 7)


@pytest.mark.parametrize(
    ("fresh", "back", "words"),
    [
        ([LATE, LATER_LATE, LATER_LATE], [], "3 overdue, the oldest since 24 November"),
        ([LATE, LATE], [], "2 overdue since 24 November"),
        ([TODAY], [TOMORROW], "1 due today, 1 sent back (due tomorrow)"),
        ([TODAY, TODAY, FRIDAY], [], "2 due today, 1 due by 4 December"),
        ([LATE, TOMORROW], [], "1 overdue since 24 November, 1 due tomorrow"),
        ([FRIDAY] * 4, [], "4 things to fix by 4 December"),
        ([FRIDAY, FRIDAY, MONDAY], [], "2 due by 4 December, 1 later"),
        ([None, None], [], "2 things to fix"),
        ([LATE, None], [], "1 overdue since 24 November, 1 to fix"),
        ([], [None], "1 sent back"),
        ([], [LATE, TODAY], "2 sent back (1 overdue since 24 November, 1 due today)"),
        ([], [LATE, LATE], "2 sent back (overdue since 24 November)"),
        ([], [], ""),
    ],
)
def test_each_due_date_is_counted_by_itself(fresh, back, words):
    assert to_fix_words(fresh, back, TODAY) == words


days = st.none() | st.integers(-30, 30).map(lambda ahead: TODAY + timedelta(days=ahead))


@given(fresh=st.lists(days, max_size=9), back=st.lists(days, max_size=4))
def test_every_thing_is_counted_once(fresh, back):
    words = to_fix_words(fresh, back, TODAY)
    outside = words.partition(" sent back")[0] if back else words
    counts = [int(part.split()[0]) for part in outside.split(", ") if part[:1].isdigit()]
    assert sum(counts) == len(fresh) + len(back)
    late = sum(day is not None and day < TODAY for day in fresh)
    assert not late or f"{late} overdue" in words


def test_in_full_the_things_are_counted_before_their_days():
    today = date(2026, 11, 26)
    late, soon = date(2026, 11, 24), date(2026, 12, 4)
    assert to_fix_in_full([soon], [], today) == "1 thing to fix by 4 December"
    assert to_fix_in_full([late, soon], [today], today) == (
        "3 things to fix. 1 overdue since 24 November, 1 due by 4 December, 1 sent back (due today)"
    )
    assert to_fix_in_full([], [], today) == ""
