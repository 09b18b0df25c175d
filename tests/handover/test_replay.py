"""From the zip alone: each row is as its Record says last, and the seal says whose export it is."""

import json
import re
import subprocess
from io import StringIO

import pytest
from django.core.management import call_command

from readiness.evidence import signing
from readiness.evidence.kept import OF_SITES, columns_of
from readiness.handover import FORMAT, BadExport
from readiness.handover.contents import PARTS
from readiness.handover.replayed import FILES, KEYS, NOT_HELD, more_columns
from readiness.handover.verify import verify_export
from readiness.models import SigningKey
from tests.handover.forging import (
    changed_rows,
    files_of,
    lines,
    resealed,
    rewritten,
)

pytestmark = pytest.mark.django_db


def test_every_table_and_column_that_a_sites_record_covers_is_compared():
    assert {kept.name for kept in OF_SITES} == set(FILES)
    for kept in OF_SITES:
        part = next(part for part in PARTS if part.name == FILES[kept.name])
        assert KEYS.get(kept.name, "id") == ("id" if kept.key == "pk" else kept.key)
        columns = {f.attname for f in kept.model._meta.concrete_fields} - {"id", kept.key}
        beside = columns - set(columns_of(kept, kept.model)) - set(part.without)
        assert beside == NOT_HELD.get(part.name, set())
    more = {f"{FILES[kept.name]}.{column}" for kept in OF_SITES for column in kept.more}
    assert more == set(more_columns())


@pytest.mark.parametrize("first", [0, *(pytest.param(n, marks=pytest.mark.long) for n in (1, 2))])
def test_each_changed_value_is_refused_with_its_row_and_column(exported, tmp_path, first):
    """Sealed again with the portal's own key: the Record alone finds it.

    Every third column from the first on, and between the three of them all.
    """
    files, private = files_of(exported), signing.private_key()
    assert verify_export(exported).rows > 20
    found = 0
    for table, file in FILES.items():
        rows = [json.loads(line) for line in files[f"data/{file}.jsonl"].splitlines()]
        row = next((row for row in rows if table != "paper" or row["state"] == "made"), None)
        assert row, f"nothing of {table} to change"
        held = row.keys() - {"id", KEYS.get(table), "state"} - NOT_HELD.get(file, set())
        for column in sorted(held)[first::3]:
            before = row[column]
            row[column] = other_than(before)
            bad = rewritten(exported, tmp_path / "bad.zip", replaced(file, rows))
            with pytest.raises(BadExport) as refused:
                verify_export(resealed(bad, private))
            row[column] = before
            if column not in ("original_id", "removed_at", "digest"):  # the files tell of those
                assert column in str(refused.value)
                assert f"{table}/{row[KEYS.get(table, 'id')]}" in str(refused.value)
            found += 1
    assert found > 33


def other_than(value):
    if value is None or isinstance(value, bool | list | dict):
        return not value
    return value + 1 if isinstance(value, int) else f"{value}x"


def replaced(file, rows):
    return lambda name, content: lines(rows) if name == f"data/{file}.jsonl" else content


@pytest.mark.parametrize(
    ("file", "change", "words"),
    [
        ("flags", lambda row: row.update(sentence="All good."), "photo/.* was changed.*flags"),
        ("originals", lambda row: row.update(width_px=1), "photo/.* was changed.*file"),
        ("originals", lambda row: row.update(metadata={}), "photo/.* was changed.*file"),
        ("said", lambda row: row.update(text="Nothing."), "written with entry .* was changed"),
        ("commitments", lambda row: row["leaves"].update(note=""), "can't be compared"),
        ("commitments", lambda row: row.update(salt="0" * 32), "was changed since"),
        ("fixes", lambda row: row.pop("note"), "fix/.* has no note"),
        ("fixes", lambda row: row.update(more="x"), "tells of no more"),
    ],
)
def test_what_stands_in_other_files_is_held_too(file, change, words, exported, tmp_path):
    bad = rewritten(exported, tmp_path / "bad.zip", changed_rows(file, change))
    with pytest.raises(BadExport, match=words):
        verify_export(resealed(bad, signing.private_key()))


def test_rows_that_are_missing_or_too_many_are_named(exported, tmp_path):
    files = files_of(exported)
    fixes = files["data/fixes.jsonl"].splitlines(keepends=True)
    more = json.loads(fixes[0]) | {"id": "9f0c1f60-6d5a-4df4-a3a5-aa8f53b5e8c1"}
    for content, words in (
        (b"".join(fixes[1:]), "fix/.* is missing, of which entry"),
        (b"".join([*fixes, lines([more])]), f"fix/{more['id']} stands in no entry"),
        (b"".join([*fixes, fixes[0]]), "fix/.* is there twice"),
    ):
        bad = rewritten(
            exported,
            tmp_path / "bad.zip",
            lambda name, old, new=content: new if name == "data/fixes.jsonl" else old,
        )
        with pytest.raises(BadExport, match=words):
            verify_export(resealed(bad, signing.private_key()))


def test_who_is_told_of_reports_is_held(exported, tmp_path):
    bad = rewritten(
        exported,
        tmp_path / "bad.zip",
        lambda name, content: b"[]\n" if name == "data/notify.json" else content,
    )
    with pytest.raises(BadExport, match=r"site/.* was changed .*notify"):
        verify_export(resealed(bad, signing.private_key()))


def test_a_change_that_the_record_does_not_cover_breaks_the_seal(exported, tmp_path):
    bad = rewritten(
        exported, tmp_path / "bad.zip", changed_rows("users", lambda row: row.update(name="Else"))
    )
    files = files_of(resealed(bad))
    files["SHA256SUMS.sig"] = files_of(exported)["SHA256SUMS.sig"]
    for name in ("manifest.json", "signing_key.pem"):
        files[name] = files_of(exported)[name]
    with pytest.raises(BadExport, match=r"manifest.json was changed|after it was signed"):
        verify_export(rewritten(bad, tmp_path / "again.zip", lambda name, _: files[name]))


def test_an_export_that_another_key_signed_is_told_apart(exported, tmp_path):
    def said(path):
        out = StringIO()
        call_command("verify_export", str(path), stdout=out)
        return out.getvalue()

    own = SigningKey.objects.get()
    assert f"Signed with this portal's key {own.pk}" in said(exported)
    foreign = resealed(rewritten(exported, tmp_path / "else.zip", lambda name, content: content))
    assert "a key that this portal does not know" in said(foreign)


def test_an_unsigned_export_of_today_is_refused(exported, tmp_path):
    bad = rewritten(
        exported, tmp_path / "bad.zip", lambda name, c: None if name.endswith(".sig") else c
    )
    with pytest.raises(BadExport, match=r"SHA256SUMS.sig is missing"):
        verify_export(bad)


def test_one_that_calls_itself_older_is_refused(exported, tmp_path):
    """Or what the Record says of rows would not be looked at."""

    def older(name, content):
        return content.replace(FORMAT.encode(), b"site-export-2")

    bad = resealed(rewritten(exported, tmp_path / "bad.zip", older))
    with pytest.raises(BadExport, match="of a later version than"):
        verify_export(bad)


def test_the_checkpoint_is_held_against_the_records_end(exported, tmp_path):
    done = verify_export(exported)
    assert done.checkpoint.size >= done.entries

    def cut(name, content):
        return (
            content.replace(b'"position":', b'"position":1') if name == "record.json" else content
        )

    with pytest.raises(BadExport, match=r"record.json does not lead to it"):
        verify_export(resealed(rewritten(exported, tmp_path / "bad.zip", cut)))


def test_the_commands_of_its_own_readme_work(exported, tmp_path):
    folder = tmp_path / "unpacked"
    for name, content in files_of(exported).items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    readme = (folder / "README.txt").read_text().split("How to check each row")[0]
    commands = re.findall(r"^ {7}(\S.*)$", readme, re.MULTILINE)
    assert len(commands) == 9
    for command in commands:
        subprocess.run(["bash", "-e", "-c", command], cwd=folder, check=True, capture_output=True)
    (folder / "SHA256SUMS").write_text("changed")
    broken = subprocess.run(
        ["bash", "-c", commands[1]], cwd=folder, check=False, capture_output=True, text=True
    )
    assert broken.returncode != 0
