"""Bringing an exported site into this installation: all of it or nothing."""

import json
import zipfile
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.core.files.base import File
from django.core.files.storage import storages
from django.db import transaction

from readiness import clock
from readiness.evidence.record import append
from readiness.handover import RECORD, BadExport
from readiness.handover.contents import PARTS, Part
from readiness.handover.earlier import as_today
from readiness.handover.names import original_name, paper_name
from readiness.handover.rows import from_plain
from readiness.handover.verify import json_of, lines_of, verify_export
from readiness.models import (
    Builder,
    BuilderContact,
    DefectItem,
    Message,
    Original,
    Paper,
    RecordEntry,
    RunCheck,
    Site,
    SiteReport,
    User,
)
from readiness.models.verbs import Verb
from readiness.photos import fingerprint, store
from readiness.rules.band import stored_levels

# A report is brought back as a draft, filled, and only then set to issued: the database refuses
# new items in an issued one.
ISSUE_COLUMNS = ("number", "issued_at", "issued_by_id", "superseded_at", "digest")
AS_DRAFT = {
    "number": None,
    "issued_at": None,
    "issued_by_id": None,
    "superseded_at": None,
    "digest": "",
}


def import_site(path: Path) -> Site:
    """Check the export, then bring its site in, with an entry in its Record that says so.

    Files go first; rows follow in one transaction. People who are here already, by id, stay as
    they are. Others come in as names only: nobody can sign in, or has a role or a password, until
    they are invited or switched on here. Raises ``BadExport`` and then nothing was changed.
    """
    verified = verify_export(path)
    with zipfile.ZipFile(path) as bundle:
        importer = _Importer(bundle, verified.manifest["format"])
        importer.refuse_known(verified.manifest["site"])
        importer.refuse_unknown_levels()
        importer.put_files()
        with transaction.atomic():
            return importer.put_rows(verified.manifest)


class _Importer:
    def __init__(self, bundle: zipfile.ZipFile, made_as: str):
        self.bundle = bundle
        rows = {
            part.name: [
                json_of(line, part.name) for line in lines_of(bundle, f"data/{part.name}.jsonl")
            ]
            for part in PARTS
        }
        self.data = as_today(rows, made_as)

    def refuse_known(self, site_id: str) -> None:
        if [row.get("id") for row in self.data["site"]] != [site_id]:
            raise BadExport("The export holds another site than its manifest says.")
        if Site.objects.filter(pk=site_id).exists():
            raise BadExport("This site is here already.")
        for row in self._rows("builder"):
            namesake = Builder.objects.filter(name__iexact=row.name).exclude(pk=row.pk)
            if namesake.exists():
                raise BadExport(
                    f"Another builder here is called {row.name}. Give that one another name first."
                )

    def refuse_unknown_levels(self) -> None:
        for run in self._rows("wall_runs"):
            try:
                stored_levels.upgraded(run.levels)
            except stored_levels.UnknownLevels as error:
                raise BadExport(f"{run.label}: {error}") from error

    def put_files(self) -> None:
        for original in self._rows("originals"):
            if not original.is_deleted:
                with store.workspace() as folder:
                    self._unpack(original_name(original), folder / "original")
                    store.put(folder / "original", original.storage_name)
        for paper in self._rows("papers"):
            if paper.state == Paper.State.MADE and not storages["papers"].exists(
                paper.storage_name
            ):
                with self.bundle.open(paper_name(paper)) as stream:
                    stored = storages["papers"].save(paper.storage_name, File(stream))
                if stored != paper.storage_name:
                    raise BadExport(f"The paper {paper.storage_name} could not be put in place.")

    def _unpack(self, name: str, target: Path) -> None:
        with self.bundle.open(name) as stream, target.open("wb") as out:
            while chunk := stream.read(1 << 20):
                out.write(chunk)

    def _rows(self, name: str) -> list:
        part = next(part for part in PARTS if part.name == name)
        return [from_plain(part.model, row) for row in self.data[name]]

    def put_rows(self, manifest: dict) -> Site:
        for part in PARTS:
            self._put_part(part)
        site = Site.objects.get(pk=manifest["site"])
        self._put_record(site)
        notify = json.loads(self.bundle.read("data/notify.json"))
        site.notify.set(BuilderContact.objects.filter(user__in=notify))
        append(
            site,
            None,
            Verb.IMPORTED,
            {"made_at": manifest["made_at"], "entries": manifest["record_entries"]},
        )
        return site

    def _put_part(self, part: Part) -> None:
        special = {
            User: self._put_people,
            Builder: self._put_new,
            BuilderContact: self._put_contacts,
            Original: self._put_originals,
            Paper: self._put_papers,
            Message: self._put_messages,
            SiteReport: self._put_reports,
        }
        if part.model in (RunCheck, DefectItem):
            return  # with their report
        put = special.get(part.model, lambda rows: part.model._default_manager.bulk_create(rows))
        put(self._rows(part.name))

    def _put_new(self, rows: list) -> None:
        known = type(rows[0]).objects.in_bulk([row.pk for row in rows]) if rows else {}
        for row in rows:
            if row.pk not in known:
                _insert(row)

    def _put_people(self, rows: list) -> None:
        here = User.objects.filter(email__in=[row.email for row in rows])
        taken = dict(here.values_list("email", "pk"))
        for row in rows:
            if taken.get(row.email, row.pk) != row.pk:
                raise BadExport(f"The address {row.email} belongs to another person here.")
            row.set_unusable_password()
            row.is_active = row.is_owner = row.is_superuser = False
            row.role, row.last_login, row.session_epoch = "", None, 0
        self._put_new(rows)

    def _put_contacts(self, rows: list) -> None:
        """Contacts come back switched off and for this one site, unless they are here already."""
        for row in rows:
            if not BuilderContact.objects.filter(user=row.user_id).exists():
                row.all_sites = row.is_active = False
                row.save(force_insert=True)
        self.contacts = [row for row in rows if row.pk]

    def _put_originals(self, rows: list) -> None:
        known = Original.objects.in_bulk([row.pk for row in rows])
        for row in rows:
            row.sizes_made_at, row.sizes_error = None, ""
            if row.pk in known:
                continue
            row.save(force_insert=True)
            fingerprint.index(row)

    def _put_papers(self, rows: list) -> None:
        """What was not made yet is made here; what was given up stays so."""
        for row in rows:
            row.claimed_by = ""
            if row.state in Paper.UNFINISHED:
                row.state, row.attempts, row.next_try_at = Paper.READY, 0, clock.now()
        Paper.objects.bulk_create(rows)

    def _put_messages(self, rows: list) -> None:
        """Kept as a record of what was sent; nothing goes from here that was to go from there."""
        for row in rows:
            row.claimed_by = ""
            if row.state not in (Message.State.SENT, Message.State.GIVEN_UP):
                row.state, row.next_try_at = Message.State.DROPPED, None
                row.error = row.error or "the site came from another installation."
        Message.objects.bulk_create(rows)

    def _put_reports(self, reports: list) -> None:
        checks, items = self._rows("checks"), self._rows("items")
        for report in reports:
            issued = {name: getattr(report, name) for name in ISSUE_COLUMNS}
            for name, value in AS_DRAFT.items():
                setattr(report, name, value)
            SiteReport.objects.bulk_create([report])
            RunCheck.objects.bulk_create([row for row in checks if row.report_id == report.pk])
            DefectItem.objects.bulk_create([row for row in items if row.report_id == report.pk])
            if issued["issued_at"]:
                SiteReport.objects.filter(pk=report.pk).update(**issued)

    def _put_record(self, site: Site) -> None:
        for contact in self.contacts:
            contact.sites.add(site)
        entries = []
        for line in lines_of(self.bundle, RECORD):
            plain = json_of(line, RECORD)
            entry = RecordEntry(
                site=site,
                sequence=plain["sequence"],
                at=datetime.fromisoformat(plain["at"]),
                actor_id=UUID(plain["actor"]) if plain["actor"] else None,
                verb=plain["verb"],
                data=plain["data"],
                previous_digest=plain["previous"],
            )
            if entry.canonical() != line:
                raise BadExport(f"Entry {entry.sequence} of the Record can't be kept as it is.")
            entry.digest = entry.computed_digest()
            entries.append(entry)
        RecordEntry.objects.bulk_create(entries)


def _insert(row) -> None:
    """Insert a row with its own times, also where the model would put the time of now."""
    model = type(row)
    own = [f.attname for f in model._meta.concrete_fields if getattr(f, "auto_now_add", False)]
    times = {name: getattr(row, name) for name in own}
    row.save(force_insert=True)
    if times:
        model.objects.filter(pk=row.pk).update(**times)
