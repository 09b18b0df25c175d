"""An export that comes in is untrusted: refused in words, or nothing of it gets anybody in."""

import json
import zipfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.evidence.verification import verify_all
from readiness.handover import BadExport, reading
from readiness.handover.along import Along
from readiness.handover.export import export_site
from readiness.handover.restore import import_site, plan_import
from readiness.handover.verify import verify_export
from readiness.models import BuilderContact, RecordEntry, Site, User
from tests.factories import make_site
from tests.handover.forging import changed_rows, files_of, lines, resealed, rewritten
from tests.handover.test_round_trip import empty_the_installation
from tests.recorded import record_rows_by_hand

pytestmark = pytest.mark.django_db


def nested(depth):
    return "[" * depth + "]" * depth


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("users", '"is_active":true', '"is_active":true,"is_owner":true', "has: is_owner"),
        ("users", '"is_active":true', '"is_active":1', "makes no sense"),
        ("users", '"role":"', '"role":"x', "makes no sense"),
        ("users", '"name":"', '"name":"\\u0000', "a character that no text has"),
        ("users", '"phone":""', f'"phone":"{"9" * 50}"', "makes no sense"),
        ("contacts", '"is_active":true', '"is_active":true,"all_sites":true', "all_sites"),
        ("users", '"is_active":true', f'"is_active":{"9" * 5000}', "not JSON"),
        ("users", '"is_active":true', f'"is_active":{nested(60_000)}', "not JSON|too deep"),
        ("users", '"is_active":true', f'"is_active":{nested(100)}', "too deep"),
        ("originals", '"sizes_attempts":0', f'"sizes_attempts":{10**20}', "makes no sense"),
        ("messages", '"unsure":0', '"unsure":NaN', "not JSON"),
        ("messages", '"site_id":"', '"site_id":"00000000-0000-4000-8000-000000000000","x":"', "x"),
        ("manifest", '"record_entries": ', '"record_entries": 9', "as many entries"),
        ("manifest", '"missing": []', '"missing": 7', "does not say what is missing"),
        ("manifest", "site-export-3", "site-export-4", "upgrade first"),
        ("manifest", '"left_out": [', '"left_out": ["photos.latitude"', "other side|JSON"),
    ],
)  # fmt: skip
def test_what_was_crafted_is_refused_in_words(stranger, tmp_path, name, old, new, words):
    file = "manifest.json" if name == "manifest" else f"data/{name}.jsonl"
    assert old.encode() in files_of(stranger)[file]

    def craft(this, content):
        return content.replace(old.encode(), new.encode()) if this == file else content

    bad = resealed(rewritten(stranger, tmp_path / "bad.zip", craft), whole=False)
    with pytest.raises(BadExport, match=words):
        import_site(bad)
    assert not User.objects.exists()
    assert not Site.objects.exists()
    assert not RecordEntry.objects.exists()


def test_rows_can_t_reach_into_what_is_here(stranger, tmp_path, applicator):
    other = make_site()

    def reach(row):
        row["site_id"] = str(other.pk)

    bad = resealed(rewritten(stranger, tmp_path / "bad.zip", changed_rows("messages", reach)))
    with pytest.raises(BadExport, match="names a site that is not in the export"):
        import_site(bad)


def test_nobody_who_is_here_becomes_a_contact_by_it(stranger, told):
    """Somebody known here by id stays as they are: no contact is made of them, no role given."""
    owner = User(pk=told.owner.pk, email=told.owner.email, role="applicator", is_owner=True)
    owner.save(force_insert=True)
    record_rows_by_hand()
    import_site(stranger)
    owner.refresh_from_db()
    assert (owner.role, owner.is_owner, owner.is_active) == ("applicator", True, True)
    others = User.objects.exclude(pk=owner.pk)
    assert not others.exclude(role="", is_active=False, is_owner=False).exists()
    assert not BuilderContact.objects.filter(is_active=True).exists()
    assert verify_all().first_break == ""


def test_a_row_whose_name_is_a_list_is_refused(stranger, tmp_path):
    for file, column in (
        ("flags", "photo_id"), ("photos", "id"), ("photos", "original_id"), ("originals", "digest"),
    ):  # fmt: skip
        change = changed_rows(file, lambda row, column=column: row.update({column: []}))
        bad = resealed(rewritten(stranger, tmp_path / "bad.zip", change))
        with pytest.raises(BadExport, match=f"{file}.jsonl has a line whose {column} is no name"):
            verify_export(bad)


def test_a_plan_says_what_would_happen_and_changes_nothing(stranger):
    plan = plan_import(stranger)
    assert (plan.builder_is_here, len(plan.newcomers), plan.known) == (False, 2, [])
    assert plan.signer == "unknown"
    assert not Site.objects.exists()


def test_an_export_for_the_other_side_is_not_brought_in(stranger, tmp_path):
    site = import_site(stranger)
    export_site(site, tmp_path / "part.zip", Along())
    empty_the_installation(tmp_path)
    with pytest.raises(BadExport, match="made for the other side"):
        import_site(tmp_path / "part.zip")


values = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(max_size=20),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.none(), max_size=1),
)  # fmt: skip


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(data=st.data())
def test_a_random_change_is_refused_in_words_or_changes_nothing_that_counts(
    data, stranger, tmp_path
):
    files = files_of(stranger)
    name = data.draw(st.sampled_from(sorted(n for n in files if n.endswith((".json", ".jsonl")))))
    content = files[name]
    kind = data.draw(st.sampled_from(["value", "line", "bytes"]))
    rows = content.splitlines()
    if kind == "value" and name.startswith("data/") and rows and rows[0].startswith(b"{"):
        at = data.draw(st.integers(0, len(rows) - 1))
        row = json.loads(rows[at])
        row[data.draw(st.sampled_from([*sorted(row), "is_owner"]))] = data.draw(values)
        rows[at] = lines([row]).rstrip(b"\n")
        content = b"\n".join(rows) + b"\n"
    elif kind == "line" and rows:
        at = data.draw(st.integers(0, len(rows) - 1))
        content = b"\n".join([*rows[:at], *rows[at + 1 :]])
    elif content:
        at = data.draw(st.integers(0, len(content) - 1))
        content = content[:at] + data.draw(st.binary(max_size=3)) + content[at + 1 :]
    bad = rewritten(stranger, tmp_path / "bad.zip", lambda n, old: content if n == name else old)
    resealed(bad, whole=False)
    try:
        verify_export(bad)
        plan_import(bad)
    except BadExport:
        pass
    else:
        assert name in HELD_BY_THE_SEAL or rows_of(content) == rows_of(files[name])


def rows_of(content: bytes) -> list:
    """What lines of JSON say: a space between values, or no new line at the end, says no more."""
    return [json.loads(line) for line in content.splitlines()]


HELD_BY_THE_SEAL = {
    "manifest.json", "data/users.jsonl", "data/builder.jsonl", "data/contacts.jsonl",
    "data/messages.jsonl", "data/originals.jsonl", "data/flags.jsonl", "data/papers.jsonl",
    "data/markup.jsonl", "data/notify.json", "data/commitments.jsonl", "data/said.jsonl",
    "record.json",
}  # fmt: skip
"""Of these the Record covers a part, or how they are written does not count."""


def test_a_bomb_is_not_unpacked(tmp_path, monkeypatch):
    monkeypatch.setattr(reading, "MOST_PACKED_BYTES", 8 << 20)
    with (
        zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as bundle,
        bundle.open("record.jsonl", "w", force_zip64=True) as out,
    ):
        for _ in range(9):
            out.write(bytes(1 << 20))
    with pytest.raises(BadExport, match="more than an export can be"):
        verify_export(tmp_path / "bomb.zip")
