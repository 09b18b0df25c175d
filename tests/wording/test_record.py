"""Entries of a Record in words, for the office and for the builder."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from readiness.models import RecordEntry, User
from readiness.models.verbs import Verb
from readiness.wording.record import BUILDER, DETAILS, OFFICE, WORDS, folds, verb_words

SYDNEY = ZoneInfo("Australia/Sydney")
NOON = datetime(2026, 11, 16, 1, 0, tzinfo=UTC)
WALL = "0b0ee6a7-6b5e-4c30-9f0c-6a1e0d3c7b11"


def entry(verb, data=None, actor=None, sequence=1, at=NOON):
    return RecordEntry(sequence=sequence, verb=verb, data=data or {}, actor=actor, at=at)


def line(verb, data=None, reader=OFFICE, actor=None, names=None):
    (fold,) = folds([entry(verb, data, actor)], SYDNEY, reader, names)
    return fold.newest


@pytest.mark.parametrize("verb", Verb)
def test_every_verb_has_words_and_only_those_that_take_a_number_say_it(verb):
    plain, numbered = WORDS[verb]
    assert plain[0].isupper()
    assert "%" not in plain
    assert not numbered or numbered.count("%(number)s") == 1
    assert "7" in verb_words(verb, 7)
    assert verb_words(verb) == plain


def test_a_number_stands_in_the_sentence_and_not_behind_it():
    assert line(Verb.REPORTED_FIXED, {"number": 3}).what == "Reported item 3 fixed"
    assert line(Verb.READY_CONFIRMED, {"number": 2}).what == "Confirmed readiness on report 2"
    assert line(Verb.ITEM_REMOVED, {"number": 3}).what == "Removed item 3 from the draft"


def test_a_verb_of_another_version_is_told_in_its_own_words():
    assert verb_words("went_by_boat") == "Went by boat"


def test_both_sides_read_the_same_entry_and_the_builder_less_of_it():
    data = {"fields": ["access_notes"], "reason": "Too wet", "day": "2026-12-04", "half": "morning"}
    ours, theirs = line(Verb.BOOKING_CANCELLED, data), line(Verb.BOOKING_CANCELLED, data, BUILDER)
    assert ours.what == theirs.what == "Cancelled the booking"
    assert ours.details == "Fri 4 December 2026, morning; access notes; “Too wet”"
    assert theirs.details == "Fri 4 December 2026, morning; “Too wet”"
    assert set(BUILDER) < set(DETAILS)


def test_a_wall_is_named_and_never_by_its_id():
    assert line(Verb.RUN_CHECKED, {"wall": WALL}, names={WALL: "North wall"}).details == (
        "North wall"
    )
    assert line(Verb.RUN_CHECKED, {"wall": WALL}).details == ""


def test_who_did_it_is_said_with_their_side():
    person = User(name="Ada Quill", role=User.Role.APPLICATOR)
    assert (line(Verb.TREATED, actor=person).who, line(Verb.TREATED, actor=person).side) == (
        "Ada Quill",
        "applicator",
    )
    assert line(Verb.PAPER_MADE).who == "The portal"


def test_a_fold_says_from_when_to_when_at_the_site():
    late = entry(Verb.PHOTO_ADDED, sequence=2, at=NOON + timedelta(minutes=24))
    (fold,) = folds([late, entry(Verb.PHOTO_ADDED)], SYDNEY, BUILDER)
    assert fold.words == "2 photos received"
    assert fold.when == "12:00 pm to 12:24 pm on Mon 16 November 2026"
