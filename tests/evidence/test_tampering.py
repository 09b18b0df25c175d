"""Whatever is changed past the portal is found and named; an untouched installation is silent.

Who changes things here has the database and its triggers, but no checkpoint from outside it.
"""

import hashlib
import json
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest
from django.apps import apps
from django.conf import settings as django_settings
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.management import CommandError, call_command
from django.db import connection, models, transaction
from django.test import override_settings
from django.utils import timezone

from readiness import clock
from readiness.actions.firm.business import change_business
from readiness.actions.people import removing
from readiness.evidence import checkpoints, verification
from readiness.evidence.checking import check_business, check_sites
from readiness.evidence.kept import KEPT, NOT_COVERED, key_of
from readiness.evidence.record import append
from readiness.models import (
    BuilderContact,
    Business,
    Checkpoint,
    Commitment,
    Invitation,
    Leaf,
    Original,
    Paper,
    Photo,
    ReadinessConfirmation,
    RecordEntry,
    Said,
    Site,
    SiteReport,
    Tile,
    User,
    freeze,
)
from tests.actions.cases.base import Cast
from tests.evidence import story
from tests.factories import make_applicator, make_builder, make_contact, make_runs, make_site
from tests.recorded import record_rows_by_hand

# A Monday, on which a crew may come.
NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
pytestmark = [pytest.mark.django_db, pytest.mark.rows_by_hand]


def _taken_back():
    """A transaction in which workers may claim things, as in Django's own test cases."""
    atomic = transaction.atomic()
    atomic._from_testcase = True
    return atomic


@pytest.fixture(scope="module")
def cast(django_db_setup, django_db_blocker, tmp_path_factory):
    """Who did it all, told once: each test takes back what it changes."""
    folder = tmp_path_factory.mktemp("told")
    stores = {name: dict(store) for name, store in django_settings.STORAGES.items()}
    for name in ("photos", "papers"):
        stores[name]["OPTIONS"] = {**stores[name].get("OPTIONS", {}), "location": folder / name}
    tasks = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    with (
        django_db_blocker.unblock(),
        _taken_back(),
        clock.at(NOW),
        override_settings(READINESS_DATA=folder, STORAGES=stores, TASKS=tasks),
    ):
        builder = make_builder()
        site = make_site(builder)
        make_runs(site)
        made = Cast(make_applicator(is_owner=True), make_contact(builder), builder, site)
        story.tell(made.applicator, made.contact, site)
        yield made
        transaction.set_rollback(True)


@pytest.fixture
def told(db, cast):
    """The site that it was all about."""
    with clock.at(NOW + timedelta(hours=4)):
        yield Site.objects.get(pk=cast.site.pk)


def found(site):
    """The first break of rows and entries; files are another matter."""
    return check_business().found or check_sites([site.pk], files=False).found


def test_an_untouched_installation_is_silent(told):
    assert found(told) is None
    kept = {name.split("/")[0] for name in Commitment.objects.values_list("row", flat=True)}
    assert kept == {one.name for one in KEPT}, "something of every table"


def other(field, value):
    """Another value that the column may hold."""
    if field.choices:
        return next(choice for choice, _ in field.flatchoices if choice != value)
    if isinstance(field, models.ForeignKey):
        return UUID(int=7) if not isinstance(value, str) else "0" * 64
    if isinstance(field, models.BooleanField):
        return not value
    if isinstance(field, models.DateTimeField):
        return (value or timezone.now()) - timedelta(days=60)
    if isinstance(field, models.DateField):
        return (value or date(2026, 11, 2)) - timedelta(days=1)
    if isinstance(field, models.DecimalField):
        return (value or Decimal(1)) + 1
    if isinstance(field, models.IntegerField):
        return (value or 0) + 7
    if isinstance(field, models.JSONField):
        return {"other": value}
    return f"{value or ''}!"[-field.max_length :] if field.max_length else f"{value or ''}!"


def sample(kept):
    """A row of the table; of reports an issued one, as drafts are bound by more."""
    rows = kept.model._base_manager.filter(kept.when)
    return rows.exclude(issued_at=None).first() if kept.name == "report" else rows.first()


COLUMNS = [
    (kept, field)
    for kept in KEPT
    for field in kept.model._meta.concrete_fields
    if not field.primary_key and field.attname not in {kept.key, kept.nth, *kept.without}
]


def test_each_column_that_is_changed_is_named(told, subtests):
    with freeze.without_triggers():
        for kept, field in COLUMNS:
            if kept.name != "business":
                with subtests.test(column=f"{kept.name}.{field.attname}"):
                    _is_named(told, kept, field)
    assert found(told) is None


def _is_named(told, kept, field):
    row = sample(kept)
    with transaction.atomic():
        overwrite(kept.model, row.pk, field, other(field, getattr(row, field.attname)))
        broken = found(told)
        transaction.set_rollback(True)
    # A row that was moved to nowhere, or to a state that is not covered, is gone.
    assert broken.row == key_of(row)
    assert set(broken.columns) - {"file"} == {field.attname} or "is gone" in broken.words


def overwrite(model, pk, field, value) -> None:
    """Where no trigger stands in the way."""
    with unchecked(model):
        model._base_manager.filter(pk=pk).update(**{field.attname: value})


@contextmanager
def unchecked(model):
    """Without the table's own checks, as who has the database can do; the test rolls back."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA ignore_check_constraints = ON")
        else:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            for name, found in connection.introspection.get_constraints(
                cursor, model._meta.db_table
            ).items():
                if found["check"] or found["foreign_key"]:
                    cursor.execute(f'ALTER TABLE {model._meta.db_table} DROP CONSTRAINT "{name}"')
        yield
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA ignore_check_constraints = OFF")


def test_every_table_is_covered_or_says_why_not():
    ours = apps.get_app_config("readiness").get_models(include_auto_created=True)
    names = {model._meta.label for model in ours}
    covered = {kept.model._meta.label for kept in KEPT}
    assert names == covered | set(NOT_COVERED)
    assert not covered & set(NOT_COVERED)
    for kept in KEPT:
        columns = {field.attname for field in kept.model._meta.concrete_fields}
        assert set(kept.without) <= columns, f"{kept.name} has no such column any more"


def test_a_setting_of_the_business_that_is_changed_is_named(told, cast):
    change_business(cast.applicator, phone="02 5550 0199")
    row = Business.objects.get()
    with freeze.without_triggers():
        for kept, field in COLUMNS:
            if kept.name == "business":
                with transaction.atomic():
                    overwrite(Business, row.pk, field, other(field, getattr(row, field.attname)))
                    broken = found(told)
                    transaction.set_rollback(True)
                assert list(broken.columns) == [field.attname]


LINKED = [(Site, "notify"), (BuilderContact, "sites"), (Invitation, "sites")]


@pytest.mark.parametrize(("model", "name"), LINKED)
def test_a_link_between_rows_that_is_changed_is_named(told, model, name):
    row = model.objects.first()
    related = getattr(row, name)
    related.clear() if related.exists() else related.add(related.model.objects.first())
    broken = found(told)
    assert (broken.row, list(broken.columns)) == (key_of(row), [name])


def test_a_flag_or_what_was_read_from_a_file_that_is_changed_is_named(told):
    flagged = Photo.objects.exclude(flags=None).first()
    for changed, column in (
        (lambda: flagged.flags.all().delete(), "flags"),
        (lambda: Original.objects.filter(pk=flagged.original_id).update(metadata={}), "file"),
    ):
        with transaction.atomic():
            changed()
            broken = found(told)
            transaction.set_rollback(True)
        assert (broken.row, list(broken.columns)) == (key_of(flagged), [column])


def test_each_row_that_is_deleted_is_missed(told, subtests):
    with freeze.without_triggers():
        for kept in KEPT:
            row = kept.model._base_manager.filter(kept.when).first()
            if kept.name in ("business", "site"):
                continue
            with subtests.test(row=kept.name), transaction.atomic():
                kept.model._base_manager.filter(pk=row.pk)._raw_delete(using="default")
                broken = found(told)
                transaction.set_rollback(True)
            assert broken is not None, kept.name


def test_a_row_that_is_slipped_in_stands_in_no_entry(told):
    with freeze.without_triggers():
        confirmation = ReadinessConfirmation.objects.latest("confirmed_at")
        confirmation.pk, confirmation._state.adding = UUID(int=5), True
        confirmation.save(force_insert=True)
    assert "stands in no entry" in found(told).words


def test_a_signed_confirmation_rewritten(told):
    signed = ReadinessConfirmation.objects.latest("confirmed_at")
    with freeze.without_triggers():
        ReadinessConfirmation.objects.filter(pk=signed.pk).update(name="Else", statement="Other.")
    broken = found(told)
    assert set(broken.columns) == {"statement", "name"}
    assert broken.columns["name"] == {}, "what names somebody is not told by the check"


def test_photos_dated_back(told):
    with freeze.without_triggers():
        Photo.objects.update(received_at=NOW - timedelta(days=60))
    assert list(found(told).columns) == ["received_at"]


def test_an_original_deleted_with_its_row(told):
    photo = Photo.objects.kept().filter(fix__isnull=False).first()
    Original.objects.filter(pk=photo.original_id).update(deleted_at=NOW)
    with freeze.without_triggers():
        Photo.objects.filter(pk=photo.pk).update(removed_at=NOW)
    assert set(found(told).columns) == {"file", "removed_at"}
    with freeze.without_triggers():
        Photo.objects.filter(pk=photo.pk).update(removed_at=None)
    assert found(told) is None
    assert "is missing or was changed" in check_sites([told.pk]).first_break


def test_an_issued_snapshot_edited(told):
    report = SiteReport.objects.issued().get()
    with freeze.without_triggers():
        SiteReport.objects.filter(pk=report.pk).update(snapshot={**report.snapshot, "items": []})
    assert list(found(told).columns) == ["snapshot"]


def test_a_paper_exchanged_with_its_digest(told):
    paper = Paper.objects.made().first()
    forged = b"%PDF-1.7 forged"
    digest = hashlib.sha256(forged).hexdigest()
    name = storages["papers"].save(f"{digest[:2]}/{digest}.pdf", ContentFile(forged))
    with freeze.without_triggers():
        Paper.objects.filter(pk=paper.pk).update(
            digest=digest, storage_name=name, byte_size=len(forged)
        )
    assert set(found(told).columns) == {"digest", "storage_name", "byte_size"}


def rewrite(entries, change) -> None:
    """Change entries, and let each carry the digest of the one before again, as a forger would."""
    previous = None
    with freeze.without_triggers():
        for entry in entries:
            change(entry)
            entry.previous_digest = previous or entry.previous_digest
            entry.digest = previous = entry.computed_digest()
            entry.save()


def test_entries_rewritten_with_their_chain(told):
    entries = list(told.record.order_by("sequence"))

    def to_another_day(entry):
        entry.at = entry.at - timedelta(days=30)

    rewrite(entries[-10:], to_another_day)
    assert "is dated before the entry before it" in found(told).words


def test_the_last_entries_cut_off(told):
    cut_off(10)
    assert found(told) is not None


def test_all_entries_deleted(told):
    cut_off(RecordEntry.objects.count())
    assert "stands in no entry" in found(told).words


def test_a_salt_or_the_parts_of_a_digest_changed(told):
    fix = Commitment.objects.filter(row__startswith="fix/").first()
    for changes in ({"salt": "0" * 32}, {"leaves": {}}):
        with transaction.atomic():
            with freeze.without_triggers():
                Commitment.objects.filter(pk=fix.pk).update(**changes)
            broken = found(told)
            transaction.set_rollback(True)
        if broken:
            assert broken.row == fix.row
        else:  # the parts are only looked at where a digest does not fit
            assert "leaves" in changes


def test_what_was_written_with_an_entry_changed_or_deleted(told):
    reason = Said.objects.filter(name="reason").first()
    for forge in (
        lambda: Said.objects.filter(pk=reason.pk).update(text="Something else."),
        lambda: Said.objects.filter(pk=reason.pk).delete(),
    ):
        with transaction.atomic():
            with freeze.without_triggers():
                forge()
            broken = found(told)
            transaction.set_rollback(True)
        assert "the reason that was written with an entry" in broken.words


def test_digests_can_t_be_begun_again(told):
    with transaction.atomic():
        append(told, None, "digests_begun", {}, rows=[told])
    assert "begins a second time" in found(told).words


def test_after_the_removal_of_a_person_all_holds(told, cast):
    contact = User.objects.get(pk=cast.contact.pk)
    before = Commitment.objects.get(row=key_of(contact)).salt
    removing.remove_person(cast.applicator, contact)
    assert found(told) is None
    after = Commitment.objects.get(row=key_of(contact))
    assert after.salt != before
    contact.refresh_from_db()
    User.objects.filter(pk=contact.pk).update(name="Sam Supervisor")
    assert list(found(told).columns) == ["name"], "nor can the details be put back unseen"


def test_the_first_break_is_told_as_data(told, capsys):
    with freeze.without_triggers():
        Photo.objects.filter(fix__isnull=False).update(caption="x")
    with pytest.raises(CommandError):
        call_command("verify_record", "--json")
    out = json.loads(capsys.readouterr().out)
    assert out["whole"] is False
    assert out["break"]["columns"] == {"caption": {}}
    assert out["break"]["row"].startswith("photo/")


def test_all_is_whole_as_data(site, capsys):
    record_rows_by_hand()
    call_command("verify_record", "--json", "--records-only")
    out = json.loads(capsys.readouterr().out)
    assert out["whole"] is True
    assert out["checked"]["sites"] == Site.objects.count()


def cut_off(count: int) -> None:
    """The newest entries of all, with everything that stands beside them, as if never made."""
    entries = RecordEntry.objects.filter(pk__in=list(newest(count)))
    with freeze.without_triggers():
        for beside in (Leaf, Said, Commitment):
            beside.objects.filter(entry__in=entries)._raw_delete("default")
        entries._raw_delete("default")
        Tile.objects.all()._raw_delete("default")


def newest(count: int):
    return RecordEntry.objects.order_by("-pk").values_list("pk", flat=True)[:count]


SCOPE = verification.Scope(files=False)


def test_history_that_was_cut_off_is_told_by_a_checkpoint_in_the_database(told):
    checkpoints.make(Checkpoint.Reason.COMMAND)
    assert verification.verify(SCOPE).first_break == ""
    cut_off(3)
    assert "entries were removed" in verification.verify(SCOPE).first_break.lower()


def test_a_checkpoint_outside_tells_what_the_database_forgot(told, tmp_path, capsys):
    """Entries, leaves and checkpoints are gone from the database, not the file elsewhere."""
    call_command("checkpoint", "--out", str(tmp_path / "elsewhere.txt"))
    with freeze.without_triggers():
        Paper.objects.update(checkpoint=None)
        Checkpoint.objects.all()._raw_delete("default")
    cut_off(3)
    capsys.readouterr()
    with pytest.raises(CommandError):
        call_command(
            "verify_record", "--records-only", "--against", str(tmp_path / "elsewhere.txt")
        )
    assert "elsewhere.txt" in capsys.readouterr().out
