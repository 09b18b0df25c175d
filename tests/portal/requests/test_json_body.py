"""How large, how deep and how odd the JSON of a script of ours may be."""

import json

import pytest

from portal.requests.json_body import DEEPEST, UnreadableBody, json_object, object_from


def nested(levels: int) -> str:
    """An object that holds lists in lists, so many levels in all."""
    return '{"a": ' + "[" * (levels - 2) + "1" + "]" * (levels - 2) + "}"


def test_as_deep_as_allowed_is_read_and_one_level_more_is_not():
    assert DEEPEST == 12
    assert object_from(nested(12))
    with pytest.raises(UnreadableBody):
        object_from(nested(13))


def test_a_number_of_20_digits_is_read_and_of_21_is_not():
    assert object_from('{"a": ' + "9" * 20 + "}") == {"a": 10**20 - 1}
    with pytest.raises(UnreadableBody):
        object_from('{"a": ' + "9" * 21 + "}")


NOT_KEPT = ["\x00", *(chr(half) for half in (0xD800, 0xDBFF, 0xDC00, 0xDFFF))]


@pytest.mark.parametrize("letter", NOT_KEPT, ids=ascii)
@pytest.mark.parametrize("place", ["key", "value", "list"])
def test_what_no_database_keeps_is_refused_wherever_it_stands(letter, place):
    sent = {"key": {f"a{letter}": 1}, "value": {"a": letter}, "list": {"a": [[letter]]}}[place]
    with pytest.raises(UnreadableBody):
        object_from(json.dumps(sent))


@pytest.mark.parametrize("letter", ["\xa0", "\ud7ff", "\ue000", "\U0001f9f1"])
def test_other_letters_are_read(letter):
    assert object_from(json.dumps({letter: [letter]})) == {letter: [letter]}


def test_a_body_may_be_just_as_large_as_asked_for(rf):
    body = b'{"a": "b"}'
    request = rf.post("/", body, content_type="application/json")
    assert json_object(request, len(body)) == {"a": "b"}
    with pytest.raises(UnreadableBody, match="too much for one photo"):
        json_object(request, len(body) - 1)
