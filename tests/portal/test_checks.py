"""What the system checks say is missing, and the way out that they name."""

import base64
from datetime import timedelta
from io import StringIO

import pytest
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from portal import checks, database_checks


def only(messages):
    (message,) = messages
    return message


def test_this_machine_has_everything():
    out = StringIO()
    call_command("check", stdout=out)
    assert "no issues" in out.getvalue()


def test_missing_pango_names_the_package(monkeypatch):
    monkeypatch.setattr(checks, "is_loadable", lambda name: "pango" not in name)
    error = only(checks.check_paper_libraries(None))
    assert error.hint.endswith("apt install libpango-1.0-0 libpangoft2-1.0-0")


def test_a_library_that_does_not_exist_is_not_loadable():
    assert not checks.is_loadable("libnothing-of-this-name.so.9")
    assert checks.is_loadable("libc.so.6")


def test_no_fonts_names_a_package(monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "FONT_FOLDERS", (str(tmp_path),))
    assert "fonts-dejavu-core" in only(checks.check_fonts(None)).hint
    (tmp_path / "a.ttf").touch()
    assert checks.check_fonts(None) == []


def test_papers_in_another_font_are_warned_of(monkeypatch, tmp_path):
    monkeypatch.setattr(checks, "FONT_FOLDERS", (str(tmp_path),))
    (tmp_path / "Other.ttf").touch()
    assert "fonts-inter" in only(checks.check_paper_font(None)).hint
    (tmp_path / "Inter-Regular.otf").touch()
    assert checks.check_paper_font(None) == []


def test_no_heic_support_names_the_package(monkeypatch):
    monkeypatch.setattr(checks.importlib.util, "find_spec", lambda name: None)
    assert "pillow-heif" in only(checks.check_heic(None)).hint


def test_a_signing_key_that_can_not_be_used_is_an_error(settings):
    assert checks.check_signing_key(None) == []
    assert not (settings.READINESS_DATA / "signing_key").exists()
    settings.READINESS_SIGNING_KEY = "nonsense"
    assert "READINESS_SIGNING_KEY" in only(checks.check_signing_key(None)).msg
    settings.READINESS_SIGNING_KEY = base64.b64encode(bytes(32)).decode()
    assert checks.check_signing_key(None) == []


def test_a_mistyped_authority_is_an_error(settings):
    assert checks.check_timestamp_url(None) == []
    settings.READINESS_TIMESTAMP_URL = "https://timestamp.example/"
    assert checks.check_timestamp_url(None) == []
    settings.READINESS_TIMESTAMP_URL = "timestamp.example"
    assert "timestamp.example" in only(checks.check_timestamp_url(None)).msg


def test_several_machines_are_to_sign_with_one_key(settings):
    assert checks.check_one_signing_key(None) == []
    options = settings.STORAGES["photos"]["OPTIONS"] | {"bucket_name": "photos"}
    settings.STORAGES = settings.STORAGES | {"photos": {"BACKEND": "x", "OPTIONS": options}}
    assert "the same on every machine" in only(checks.check_one_signing_key(None)).hint
    settings.READINESS_SIGNING_KEY = base64.b64encode(bytes(32)).decode()
    assert checks.check_one_signing_key(None) == []


def test_a_data_folder_that_can_not_be_written_is_an_error(settings, tmp_path):
    settings.READINESS_DATA = tmp_path / "new"
    assert checks.check_data_folder(None) == []
    (tmp_path / "file").touch()
    settings.READINESS_DATA = tmp_path / "file"
    assert "READINESS_DATA" in only(checks.check_data_folder(None)).hint


def test_files_that_were_not_collected_are_an_error_in_production(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path
    assert "collectstatic" in only(checks.check_collected_files(None)).hint
    (tmp_path / "staticfiles.json").touch()
    assert checks.check_collected_files(None) == []


@pytest.mark.django_db
def test_the_cache_table_comes_with_migrate(settings):
    assert database_checks.check_cache_table(None, databases=["default"]) == []
    cache.set("a", 1)
    assert cache.get("a") == 1
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE readiness_cache")
    assert "migrate" in only(database_checks.check_cache_table(None, databases=["default"])).hint
    call_command("migrate", verbosity=0)
    assert database_checks.check_cache_table(None, databases=["default"]) == []


@pytest.mark.django_db
def test_work_that_waits_too_long_asks_for_the_worker():
    def wait(minutes):
        return DBTaskResult.objects.create(
            args_kwargs={"args": [], "kwargs": {}},
            task_path="readiness.tasks.some_task",
            backend_name="default",
            run_after=timezone.now(),
        ), timezone.now() - timedelta(minutes=minutes)

    task, moment = wait(9)
    DBTaskResult.objects.filter(pk=task.pk).update(enqueued_at=moment)
    assert database_checks.check_worker(None, databases=["default"]) == []
    DBTaskResult.objects.filter(pk=task.pk).update(enqueued_at=moment - timedelta(minutes=2))
    warning = only(database_checks.check_worker(None, databases=["default"]))
    assert "manage.py worker" in warning.hint


@pytest.mark.django_db
class TestVersionsOfProgramAndDatabase:
    def test_the_same_version_is_no_fault(self):
        assert database_checks.check_migrations(None, databases=["default"]) == []

    def test_migrations_that_wait_stop_the_services(self):
        ((_, newest),) = MigrationLoader(connection).graph.leaf_nodes("readiness")
        MigrationRecorder(connection).record_unapplied("readiness", newest)
        error = only(database_checks.check_migrations(None, databases=["default"]))
        assert error.is_serious()
        assert "1 migration to apply" in error.msg
        assert "manage.py migrate" in error.hint

    def test_a_database_of_a_later_version_stops_them_too(self):
        MigrationRecorder(connection).record_applied("readiness", "9999_of_later")
        error = only(database_checks.check_migrations(None, databases=["default"]))
        assert error.is_serious()
        assert "9999_of_later" in error.msg

    def test_migrate_is_not_kept_from_its_work_by_them(self):
        MigrationRecorder(connection).record_applied("readiness", "9999_of_later")
        call_command("migrate", verbosity=0, skip_checks=False)
