"""Back-ups of an installation on PostgreSQL, and of one whose files lie in a bucket."""

import json
import os
import subprocess
from types import SimpleNamespace

import psycopg
import pytest

from readiness.operations import Trouble, database, layout
from tests.operations.machine import Machine

moto = pytest.importorskip("moto.server", reason="moto is not installed (the test extra has it).")
boto3 = pytest.importorskip("boto3", reason="boto3 is not installed (the test extra has it).")


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "back-ups"


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_an_installation_on_postgresql_comes_back_on_another_server(
    on_postgres, new_machine, databases, folder
):
    on_postgres.manage("backup", str(folder))
    made = layout.find(folder)
    assert (made / "database.pgdump").read_bytes().startswith(b"PGDMP")
    subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=made, check=True)
    url = databases()
    other = new_machine(url)
    assert "Whole: 3 sites" in other.manage("restore", str(folder))
    assert other.bad_pages() == []
    with (
        psycopg.connect(url) as restored,
        pytest.raises(psycopg.errors.IntegrityError, match="append-only"),
    ):
        restored.execute("DELETE FROM readiness_recordentry")
    assert "is in use" in other.refused("restore", str(folder))


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_migrated_tables_that_nobody_used_make_room(on_postgres, new_machine, databases, folder):
    on_postgres.manage("backup", str(folder))
    other = new_machine(databases(migrated=True))
    other.manage("restore", str(folder))
    other.manage("migrate", "--check")


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_a_database_of_something_else_is_left_alone(on_postgres, new_machine, databases, folder):
    on_postgres.manage("backup", str(folder))
    url = databases()
    with psycopg.connect(url) as other:
        other.execute("CREATE TABLE theirs (id int)")
    said = new_machine(url).refused("restore", str(folder))
    assert "has tables of something else (theirs)" in said


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_a_backup_goes_into_a_database_of_its_own_kind(on_postgres, new_machine, folder):
    on_postgres.manage("backup", str(folder))
    said = new_machine().refused("restore", str(folder))
    assert "The back-up is of a postgresql database" in said


@pytest.mark.long  # fills, copies and migrates whole PostgreSQL databases
@pytest.mark.postgres
def test_a_server_that_is_gone_is_said_in_words(on_postgres, folder):
    on_postgres.environment["DATABASE_URL"] = "postgres://readiness@127.0.0.1:9/none"
    done = on_postgres.run("backup", str(folder))
    assert done.returncode != 0
    assert layout.whole_ones(folder) == []


@pytest.fixture
def server_of(monkeypatch, tmp_path):
    """`server_of(17, {"pg_dump": 15})`: a server's version, and the programs that are here."""

    def make(version, program_version=None):
        where = tmp_path / "bin"
        where.mkdir()
        if program_version:
            program = where / "pg_dump"
            program.write_text(f"#!/bin/sh\necho 'pg_dump (PostgreSQL) {program_version}.4'\n")
            program.chmod(0o755)
        monkeypatch.setenv("PATH", f"{where}{os.pathsep}/bin")
        monkeypatch.setattr(database, "DEBIAN_PROGRAMS", tmp_path)
        monkeypatch.setattr(database.shutil, "which", lambda name: _in(where, name))
        server = SimpleNamespace(get_database_version=lambda: (version, 3))
        monkeypatch.setattr(database, "connection", server)

    def _in(where, name):
        return str(where / name) if (where / name).exists() else None

    return make


def test_a_missing_program_is_named_with_its_package(server_of):
    server_of(15)
    with pytest.raises(Trouble, match="pg_dump is not installed: apt install postgresql-client"):
        database.postgresql_program("pg_dump")


def test_a_program_older_than_the_server_is_not_used(server_of):
    server_of(17, 15)
    with pytest.raises(Trouble, match=r"pg_dump 15 is older .* PostgreSQL 17: apt install"):
        database.postgresql_program("pg_dump")


def test_a_program_younger_than_the_server_will_do(server_of):
    server_of(14, 15)
    assert database.postgresql_program("pg_dump").endswith("/bin/pg_dump")


# In a bucket


@pytest.fixture
def bucket(monkeypatch):
    """`bucket(name)`: settings that keep photos and papers in a bucket of that name."""
    thread = moto.ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    thread.start()
    address = "http://{}:{}".format(*thread.get_host_and_port())
    keys = {
        "AWS_ACCESS_KEY_ID": "a-key",
        "AWS_SECRET_ACCESS_KEY": "its-secret",
        "AWS_DEFAULT_REGION": "us-east-1",
    }
    for name, value in keys.items():
        monkeypatch.setenv(name, value)

    def make(name):
        boto3.client("s3", endpoint_url=address).create_bucket(Bucket=name)
        return {"READINESS_S3_BUCKET": name, "READINESS_S3_ENDPOINT": address, **keys}

    yield make
    thread.stop()


@pytest.mark.long
def test_photos_and_papers_of_a_bucket_are_in_the_backup_and_go_into_another(
    tmp_path, bucket, new_machine, folder
):
    machine = Machine(tmp_path / "installation", **bucket("first"))
    machine.fill()
    assert not (machine.folder / "papers").exists()
    machine.manage("backup", str(folder))
    manifest = json.loads((layout.find(folder) / "manifest.json").read_text())
    assert manifest["files"]["count"] > 6
    assert manifest["missing"] == []
    other = new_machine(**bucket("second"))
    said = other.manage("restore", str(folder))
    assert "Whole: 3 sites" in said
    assert "3 photos" in said
    assert other.bad_pages() == []
    disk = new_machine()
    assert "Whole: 3 sites" in disk.manage("restore", str(folder))
    assert len(list((disk.folder / "papers").glob("*/*.pdf"))) > 3
