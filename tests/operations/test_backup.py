"""Back-ups of an installation on SQLite, as its operator makes, checks and restores them."""

import base64
import errno
import hashlib
import json
import os
import shutil
import sqlite3
import subprocess

import pytest
from django.core.management import CommandError, call_command

from readiness import clock
from readiness.actions.photos.keeping import add_photo, remove_photo
from readiness.models import LastDone, Original
from readiness.operations import Trouble, backup, database, disk, layout, shelf
from readiness.photos import store
from tests.operations.machine import RECORD
from tests.photos.pictures import jpeg, scene


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "back-ups"


@pytest.fixture
def photo(transactional_db, applicator, site):
    return send(applicator, site, 1)


def send(applicator, site, number):
    import io

    return add_photo(applicator, site, io.BytesIO(jpeg(scene(number))))


def on_shelf(folder):
    return {path.name: path for path in (folder / "files").glob("*/*")}


def digests_in(path):
    """What the copy of the database names."""
    with sqlite3.connect(path / "database.sqlite3") as copy:
        return {row[0] for row in copy.execute("SELECT digest FROM readiness_original")}


# From one machine to another


def test_a_backup_restored_elsewhere_has_every_row_and_every_byte(machine, new_machine, folder):
    machine.manage("backup", str(folder))
    other = new_machine()
    said = other.manage("restore", str(folder))
    assert "Whole: 3 sites" in said
    assert "3 photos" in said
    count = "from readiness.models import *; import json; print('READY' + json.dumps({})"
    rows = count.format(
        "[list(map(str, RecordEntry.objects.order_by('site', 'sequence').values_list('digest', "
        "flat=True))), sorted(Paper.objects.values_list('digest', flat=True))]"
    )
    assert other.ask(rows + ")") == machine.ask(rows + ")")
    assert other.bad_pages() == []
    assert (other.folder / "secret_key").read_text() == (machine.folder / "secret_key").read_text()


@pytest.mark.long
def test_a_photo_that_waited_on_the_old_machine_waits_no_more_once_it_is_restored(
    machine, new_machine, folder
):
    machine.ask(
        "from readiness.models import *; import json\n"
        "for one in Original.objects.all()[:1]:\n"
        "    SpooledOriginal.objects.create(original=one, machine='gone-1')\n"
        "print('READY' + json.dumps(SpooledOriginal.objects.count()))"
    )
    machine.manage("backup", str(folder))
    other = new_machine()
    other.manage("restore", str(folder))
    waiting = "from readiness.models import *; print(f'READY{SpooledOriginal.objects.count()}')"
    assert other.ask(waiting) == 0


@pytest.mark.long
def test_the_restored_database_still_refuses_to_change_the_record(machine, new_machine, folder):
    machine.manage("backup", str(folder))
    other = new_machine()
    other.manage("restore", str(folder))
    with (
        sqlite3.connect(other.folder / "db.sqlite3") as restored,
        pytest.raises(sqlite3.IntegrityError, match="append-only"),
    ):
        restored.execute("UPDATE readiness_recordentry SET verb = 'other'")


def test_a_restore_never_goes_over_what_is_in_use(machine, folder):
    machine.manage("backup", str(folder))
    before = (machine.folder / "db.sqlite3").read_bytes()
    assert "is in use: nothing was changed" in machine.refused("restore", str(folder))
    assert (machine.folder / "db.sqlite3").read_bytes() == before


@pytest.mark.long
def test_a_migrated_database_that_nobody_used_is_empty_enough(machine, new_machine, folder):
    machine.manage("backup", str(folder))
    other = new_machine()
    other.migrate()
    other.manage("restore", str(folder))


@pytest.mark.long
def test_a_restore_that_was_cut_off_is_run_again(machine, new_machine, folder):
    """The files are in their place, one of them half, and the database is not."""
    machine.manage("backup", str(folder))
    other = new_machine()
    for name in ("photos", "papers"):
        shutil.copytree(machine.folder / name, other.folder / name)
    half = next((other.folder / "papers").glob("*/*.pdf"))
    os.truncate(half, 1000)
    other.manage("restore", str(folder))


def test_a_backup_of_a_later_version_is_refused_in_words(machine, new_machine, folder):
    machine.manage("backup", str(folder))
    manifest = layout.find(folder) / "manifest.json"
    about = json.loads(manifest.read_text())
    about["migrations"].append(["readiness", "0999_of_the_future"])
    manifest.write_text(json.dumps(about))
    other = new_machine()
    said = other.refused("restore", str(folder))
    assert "Install that version or a later one" in said
    assert "readiness.0999_of_the_future" in said


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", "[" * 5000, '{"format": "readiness-backup-9"}', "\x00"]
)
def test_a_manifest_that_can_not_be_read_is_refused_in_words(folder, text):
    path = folder / "2026-11-26T00-00-00Z"
    path.mkdir(parents=True)
    (path / "manifest.json").write_text(text)
    with pytest.raises(Trouble, match=r"can't be read|has the format"):
        layout.manifest_of(path)


ANOTHER = "from tests.factories import make_site; make_site()"


@pytest.mark.long  # fills and copies several installations
def test_of_several_backups_the_named_one_is_restored(machine, new_machine, folder):
    machine.manage("backup", str(folder))
    first = layout.whole_ones(folder)[0]
    machine.manage("shell", "-v0", "-c", f"{ANOTHER}\n{RECORD}")
    machine.manage("backup", str(folder))
    other = new_machine()
    assert "These are there" in other.refused("restore", str(folder), "--at", "2020-01-01")
    assert "Whole: 3 sites" in other.manage("restore", str(folder), "--at", first)
    assert "Whole: 4 sites" in new_machine().manage("restore", str(folder))


@pytest.mark.long
def test_the_key_of_an_environment_variable_is_said_to_be_elsewhere(machine, new_machine, folder):
    machine.environment["SECRET_KEY"] = "of this machine"
    assert "SECRET_KEY: it is in no file" in machine.manage("backup", str(folder))
    done = new_machine().run("restore", str(folder))
    assert done.returncode == 0
    assert "SECRET_KEY is another one here. It is not in the back-up." in done.stderr


# The key that signs checkpoints


def make_one(machine):
    machine.manage("checkpoint")
    return (machine.folder / "signing_key").read_bytes()


@pytest.mark.long
def test_the_key_that_signs_goes_along(machine, new_machine, folder):
    key = make_one(machine)
    machine.manage("backup", str(folder))
    other = new_machine()
    other.manage("restore", str(folder))
    assert (other.folder / "signing_key").read_bytes() == key
    assert (other.folder / "signing_key").stat().st_mode & 0o777 == 0o600
    assert other.manage("checkpoint") == machine.manage("checkpoint")


@pytest.mark.long
def test_a_signing_key_in_a_variable_is_said_to_be_elsewhere(machine, new_machine, folder):
    machine.environment["READINESS_SIGNING_KEY"] = base64.b64encode(bytes(32)).decode()
    machine.manage("checkpoint")
    assert "READINESS_SIGNING_KEY: it is in no file" in machine.manage("backup", str(folder))
    done = new_machine().run("restore", str(folder))
    assert done.returncode == 0
    assert "The key that signs checkpoints is another one here." in done.stderr
    other = new_machine(READINESS_SIGNING_KEY=machine.environment["READINESS_SIGNING_KEY"])
    assert "signs checkpoints" not in other.run("restore", str(folder)).stderr


@pytest.mark.long
def test_a_back_up_of_before_there_were_signing_keys_is_read(machine, new_machine, folder):
    (machine.folder / "signing_key").unlink(missing_ok=True)
    machine.manage("backup", str(folder))
    (made,) = (path for path in folder.iterdir() if (path / "manifest.json").is_file())
    manifest = json.loads((made / "manifest.json").read_text())
    assert manifest["signing_key"] == {"kept": False, "id": ""}
    manifest["format"] = "readiness-backup-1"
    del manifest["signing_key"]
    (made / "manifest.json").write_text(json.dumps(manifest))
    sums = (made / "SHA256SUMS").read_text().splitlines()
    digest = hashlib.sha256((made / "manifest.json").read_bytes()).hexdigest()
    lines = [f"{digest}  manifest.json" if one.endswith(" manifest.json") else one for one in sums]
    (made / "SHA256SUMS").write_text("\n".join(lines) + "\n")
    assert "Whole: 3 sites" in new_machine().manage("restore", str(folder))


# Making one


def test_what_was_copied_before_is_not_copied_again(photo, applicator, site, folder):
    first = backup.make_backup(folder)
    before = {path: path.stat() for path in on_shelf(folder).values()}
    send(applicator, site, 2)
    second = backup.make_backup(folder)
    assert (first.copied, second.copied, second.files) == (1, 1, 2)
    for path, kept in before.items():
        now = path.stat()
        assert (now.st_ino, now.st_mtime_ns) == (kept.st_ino, kept.st_mtime_ns)
    note = LastDone.objects.get(name="backup").details
    assert (note["dir"], note["which"], note["files"]) == (str(folder), second.path.name, 2)


def test_the_list_of_digests_is_one_for_the_usual_tool(photo, folder):
    made = backup.make_backup(folder)
    command = ["sha256sum", "--check", "--strict", "SHA256SUMS"]
    done = subprocess.run(command, cwd=made.path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert f"../files/{photo.original_id[:2]}/{photo.original_id}: OK" in done.stdout


def test_only_its_owner_reads_a_backup(photo, folder, settings):
    (settings.READINESS_DATA / "secret_key").write_text("a key")
    made = backup.make_backup(folder)
    assert {path.stat().st_mode & 0o77 for path in (folder, made.path, *made.path.iterdir())} == {0}
    assert (made.path / "secret_key").read_text() == "a key"


def test_a_photo_that_is_lost_is_named_and_the_rest_is_kept(photo, applicator, site, folder):
    lost = send(applicator, site, 2).original
    store.delete(lost.storage_name)
    changed = send(applicator, site, 3).original
    store.local_path(changed.storage_name).write_bytes(b"other")
    with pytest.raises(CommandError) as failed:
        call_command("backup", str(folder))
    assert f"photos: {lost.storage_name} is missing." in str(failed.value)
    assert f"photos: {changed.storage_name} was changed." in str(failed.value)
    assert set(on_shelf(folder)) == {photo.original_id}
    call_command("backup", str(folder), "--verify")


def test_a_photo_deleted_meanwhile_has_the_database_copied_again(
    photo, applicator, site, folder, monkeypatch
):
    other, plain = send(applicator, site, 2), shelf.put_on

    def deleted_first(*arguments):
        if not Original.objects.get(pk=photo.original_id).is_deleted:
            remove_photo(applicator, photo, "Sent by mistake.")
        return plain(*arguments)

    monkeypatch.setattr(shelf, "put_on", deleted_first)
    made = backup.make_backup(folder)
    assert (made.files, made.missing) == (1, [])
    assert set(on_shelf(folder)) == {other.original_id}
    with sqlite3.connect(made.path / "database.sqlite3") as copy:
        kept = copy.execute("SELECT digest FROM readiness_original WHERE deleted_at IS NULL")
        assert kept.fetchall() == [(other.original_id,)]


def test_a_full_disk_leaves_no_backup_that_seems_whole(photo, folder, monkeypatch):
    def full(*arguments, **options):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(disk, "write_whole", full)
    with pytest.raises(Trouble, match="can't be written: No space left on device"):
        backup.make_backup(folder)
    assert layout.whole_ones(folder) == []
    assert list(folder.glob(".unfinished*")) == []
    assert not LastDone.objects.filter(name="backup").exists()


def test_a_store_that_is_silent_fails_the_backup(photo, folder, monkeypatch):
    def silent(name):
        raise OSError("The object store failed: no answer")

    monkeypatch.setattr(store, "open_file", silent)
    monkeypatch.setattr(shelf, "PAUSES_SECONDS", (0, 0))
    with pytest.raises(Trouble, match="photos can't be read: The object store failed"):
        backup.make_backup(folder)
    assert layout.whole_ones(folder) == []


def test_two_at_once_in_one_folder_are_refused(photo, folder):
    folder.mkdir()
    with disk.only_one(folder), pytest.raises(Trouble, match=r"Another back-up into .* is running"):
        backup.make_backup(folder)


def test_what_a_killed_one_left_is_no_backup_and_is_swept(photo, folder):
    left = folder / ".unfinished-2026-11-26T00-00-00Z"
    left.mkdir(parents=True)
    (left / "manifest.json").write_text("{}")
    with pytest.raises(Trouble, match="There is no whole back-up"):
        layout.find(folder)
    backup.make_backup(folder)
    assert not left.exists()


def test_a_damaged_database_is_not_taken_for_a_backup(photo, folder, monkeypatch, tmp_path):
    bad = tmp_path / "bad.sqlite3"
    with sqlite3.connect(bad) as made:
        made.execute("CREATE TABLE a (b UNIQUE)")
        made.executemany("INSERT INTO a VALUES (?)", [(str(n) * 50,) for n in range(2000)])
    made.close()
    with bad.open("r+b") as file:
        file.seek(4096 * 5)
        file.write(os.urandom(4096 * 3))
    monkeypatch.setitem(database.connection.settings_dict, "NAME", str(bad))
    with pytest.raises(Trouble, match=r"is damaged|can't be copied"):
        backup.make_backup(folder)
    assert layout.whole_ones(folder) == []


# Keeping some


def test_old_ones_are_taken_away_with_what_only_they_had(photo, applicator, site, folder):
    with clock.at(clock.now()):
        backup.make_backup(folder)
    remove_photo(applicator, photo, "Sent by mistake.")
    other = send(applicator, site, 2)
    backup.make_backup(folder)
    assert set(on_shelf(folder)) == {photo.original_id, other.original_id}
    made = backup.make_backup(folder, keep=1)
    assert layout.whole_ones(folder) == [made.path.name]
    assert len(made.pruned) == 2
    assert set(on_shelf(folder)) == {other.original_id}
    call_command("backup", str(folder), "--verify")


def test_the_one_just_made_stays_though_the_clock_went_back(photo, folder):
    backup.make_backup(folder)
    from datetime import timedelta

    with clock.at(clock.now() - timedelta(days=400)):
        made = backup.make_backup(folder, keep=1)
    assert layout.whole_ones(folder) == [made.path.name]


@pytest.mark.parametrize("number", ["0", "-1", "x", ""])
def test_a_number_to_keep_is_one_or_more(folder, number):
    with pytest.raises(CommandError, match="keep 1 or more"):
        call_command("backup", str(folder), f"--keep={number}")


# Checking one


def damage_photo(path, photo):
    shelved = path.parent / layout.shelved(photo.original_id)
    content = bytearray(shelved.read_bytes())
    content[len(content) // 2] ^= 1
    shelved.write_bytes(content)
    return f"{photo.original_id} was changed"


def lose_photo(path, photo):
    (path.parent / layout.shelved(photo.original_id)).unlink()
    return f"{photo.original_id} is missing"


def damage_database(path, photo):
    with (path / "database.sqlite3").open("r+b") as file:
        file.seek(5000)
        file.write(b"\xff")
    return "database.sqlite3 was changed"


def cut_list(path, photo):
    lines = (path / "SHA256SUMS").read_text().splitlines(keepends=True)
    (path / "SHA256SUMS").write_text("".join(lines[:-1]))
    return f"{photo.original_id} is not in the digest list"


def shorten_files(path, photo):
    (path / "files.jsonl").write_text("")
    return "files.jsonl was changed"


def spoil_list(path, photo):
    (path / "SHA256SUMS").write_text("not a list\n")
    return "Line 1 of .* makes no sense"


@pytest.mark.parametrize(
    "spoil",
    [
        damage_photo,
        damage_database,
        *(
            pytest.param(spoil, marks=pytest.mark.long)
            for spoil in (lose_photo, cut_list, shorten_files, spoil_list)
        ),
    ],
)
def test_what_is_wrong_is_named_and_nothing_of_it_is_restored(
    photo, folder, new_machine, spoil, monkeypatch
):
    made = backup.make_backup(folder)
    call_command("backup", str(folder), "--verify")
    expected = spoil(made.path, photo)
    with pytest.raises(CommandError, match=expected):
        call_command("backup", str(folder), "--verify")
    other = new_machine()
    other.refused("restore", str(folder))
    assert not (other.folder / "photos").exists()


@pytest.mark.parametrize("spoil", [lose_photo, damage_photo])
def test_what_went_bad_on_the_shelf_is_copied_again(photo, folder, spoil, monkeypatch):
    """Every file is read again in one of 30 days; a wrong size is seen at once."""
    made = backup.make_backup(folder)
    spoil(made.path, photo)
    turn = int(photo.original_id[:4], 16) % shelf.ROUNDS
    [file] = layout.files_of(made.path)
    assert shelf.put_on(folder, file, turn)
    assert not shelf.put_on(folder, file, turn)
    call_command("backup", str(folder), "--verify")
