"""What is signed, and its forms: a file, a header, values."""

from datetime import UTC, datetime
from email import message_from_string, policy

import pytest
from django.core.mail import EmailMessage
from hypothesis import given
from hypothesis import strategies as st

from readiness.evidence.notes import HEADER, BadNote, Note, b64, headers_in

NOTE = Note(
    portal="https://ready.example.com",
    size=1234,
    root=bytes(range(32)),
    at=datetime(2027, 3, 31, 1, 2, 3, 456789, tzinfo=UTC),
    key=bytes(44),
    signature=bytes(64),
)

notes = st.builds(
    Note,
    portal=st.from_regex(r"https://[a-z0-9.:/-]{1,80}", fullmatch=True),
    size=st.integers(1, 10**17),
    root=st.binary(min_size=32, max_size=32),
    at=st.datetimes(timezones=st.just(UTC)),
    key=st.binary(min_size=44, max_size=44),
    signature=st.binary(min_size=64, max_size=64),
)


def test_the_signed_text_is_as_documented():
    assert NOTE.signed.decode() == (
        "site-readiness checkpoint 1\n"
        "portal https://ready.example.com\n"
        "size 1234\n"
        "root AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8=\n"
        "time 2027-03-31T01:02:03.456789Z\n"
    )


@given(notes)
def test_each_form_gives_the_same_back(note):
    assert Note.of_file(note.as_file()) == note
    assert Note.of_file(note.as_file().replace("\n", "\r\n")) == note
    assert Note.of_header(note.as_header()) == note
    assert Note.of_values(note.values()) == note


@given(notes)
def test_a_header_comes_through_a_mail_as_it_was(note):
    mail = EmailMessage("Subject", "Body", to=["a@example.com"], headers={HEADER: note.as_header()})
    text = mail.message().as_bytes().decode()
    assert [Note.of_header(value) for value in headers_in(text)] == [note]
    parsed = message_from_string(text, policy=policy.default)
    assert Note.of_header(parsed[HEADER]) == note


def test_a_log_of_many_mails_has_a_header_of_each():
    one = f"Subject: a\n{HEADER}: {NOTE.as_header()}\nTo: b\n\nBody\n"
    assert len(list(headers_in(one + "-" * 79 + "\n" + one))) == 2
    assert list(headers_in("Subject: a\n\nno header at all")) == []


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("portal", "https://a b"),
        ("portal", "https://a;size=1"),
        ("portal", ""),
        ("size", "0"),
        ("size", "-1"),
        ("size", "01"),
        ("size", "1e9"),
        ("size", "9" * 19),
        ("root", b64(bytes(31))),
        ("root", "no base64"),
        ("root", "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh9="),  # bits to spare that are not 0
        ("time", "yesterday"),
        ("time", "2027-02-30T01:02:03.456789Z"),
        ("time", "2027-03-31T01:02:03Z"),
        ("key", b64(bytes(43))),
        ("signature", b64(bytes(63))),
        ("signature", "é"),
    ],
)
def test_what_is_amiss_is_refused(name, value):
    values = {**NOTE.values(), name: value}
    with pytest.raises(BadNote):
        Note.of_values(values)
    lines = [
        line if not line.startswith(f"{name} ") else f"{name} {value}"
        for line in NOTE.as_file().splitlines()
    ]
    with pytest.raises(BadNote):
        Note.of_file("\n".join(lines))


@given(st.text(max_size=200))
def test_any_text_is_refused_plainly(text):
    for read in (Note.of_file, Note.of_header):
        with pytest.raises(BadNote):
            read(text)


def test_missing_more_and_wrong_values_are_refused():
    values = NOTE.values()
    for wrong in (
        {},
        {**values, "more": "1"},
        {name: value for name, value in values.items() if name != "root"},
        {**values, "size": 1234},
    ):
        with pytest.raises(BadNote):
            Note.of_values(wrong)
    with pytest.raises(BadNote):
        Note.of_header(NOTE.as_header().replace("1; ", "2; ", 1))
    with pytest.raises(BadNote):
        Note.of_file(NOTE.as_file() + "more\n")
    with pytest.raises(BadNote):
        Note.of_file(NOTE.as_file().replace("\n\n", "\nmore\n", 1))
