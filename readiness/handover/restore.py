"""Bringing an exported site into this installation: all of it or nothing.

The file is untrusted: only columns that an export has are taken, each row has to belong to the
site, nobody gets in by it, and in the end the rows are compared with the site's Record.
"""

import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.core.files.base import File
from django.core.files.storage import storages
from django.db import DataError, IntegrityError, transaction
from django.db.models import Model

from readiness import clock, security
from readiness.actions.permission import require_owner
from readiness.evidence.forms import Form, forms_of, shape_of
from readiness.evidence.kept import BY_NAME, OF_SITES, key_of
from readiness.evidence.notes import b64
from readiness.evidence.record import append
from readiness.handover import FORMATS, RECORD, BadExport
from readiness.handover.belonging import check_belongs
from readiness.handover.contents import PARTS, Part
from readiness.handover.earlier import as_today
from readiness.handover.reading import json_of, lines_of, opened, row_of, rows_in
from readiness.handover.rows import from_plain
from readiness.handover.verify import Verified, verify_export
from readiness.models import (
    Builder,
    BuilderContact,
    Commitment,
    DefectItem,
    Message,
    Original,
    Paper,
    PhotoFlag,
    RecordEntry,
    RunCheck,
    Said,
    SecurityKind,
    SigningKey,
    Site,
    SiteReport,
    User,
)
from readiness.models.verbs import Verb
from readiness.photos import fingerprint, store
from readiness.photos.markup import MarkupError, clean_shapes
from readiness.rules.band import stored_levels
from readiness.snapshots import snapshot_digest

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


ALWAYS_LEFT_OUT = {f"{part.name}.{column}" for part in PARTS for column in part.without}
UNLIKE_HERE = {"paper": {"checkpoint_id"}, "site": {"notify"}, "photo": {"flags"}}
"""What an import sets itself: a checkpoint is of the installation that signed it, and contacts who
are known here already stay as they are."""


@dataclass(frozen=True)
class Plan:
    """What an import would do, for who approves it."""

    verified: Verified
    builder: str
    builder_is_here: bool
    newcomers: list[str]
    known: list[str]
    reports: int

    @property
    def signer(self) -> str:
        """Whose key it is: "own", "unknown", or "" for an earlier version's, which has none."""
        if not self.verified.key:
            return ""
        public = b64(self.verified.key)
        return "own" if SigningKey.objects.filter(public=public).exists() else "unknown"


def plan_import(path: Path) -> Plan:
    """Check the export and say what an import would do; nothing is changed.

    Raises ``BadExport`` where it would be refused.
    """
    verified = verify_export(path)
    with opened(path) as bundle:
        return _Importer(bundle, verified).plan()


def import_site(path: Path, approved_by: User | None = None) -> Site:
    """Check the export, then bring its site in, with an entry in its Record that says so.

    Files go first; rows follow in one transaction. People who are here already, by id, stay as
    they are. Others come in as names only: nobody can sign in, or has a role or a password, until
    they are invited or switched on here. Raises ``BadExport`` and then no row was changed.
    """
    if approved_by is not None:
        require_owner(approved_by)
    verified = verify_export(path)
    with opened(path) as bundle:
        importer = _Importer(bundle, verified)
        importer.put_files()
        try:
            with transaction.atomic():
                site = importer.put_rows(approved_by)
                security.note(SecurityKind.IMPORTED, approved_by, site=str(site.pk))
                return site
        except (IntegrityError, DataError, OverflowError) as error:
            raise BadExport(f"Its rows do not fit what is here: {error}") from error


class _Importer:
    def __init__(self, bundle: zipfile.ZipFile, verified: Verified):
        self.bundle, self.manifest = bundle, verified.manifest
        self.verified = verified
        if set(verified.left_out) - ALWAYS_LEFT_OUT:
            raise BadExport(
                "This export was made for the other side: parts of it were left out. "
                "Only a whole one can be brought in."
            )
        made_as = FORMATS.index(self.manifest["format"])
        rows = {
            part.name: list(rows_in(bundle, part.name)) if made_as >= part.since else []
            for part in PARTS
        }
        try:
            self.data = as_today(rows, self.manifest["format"])
        except (KeyError, TypeError) as error:
            raise BadExport("A row lacks a column that every export has.") from error
        self.rows = {
            part.name: [
                from_plain(part.model, row, without=part.without) for row in self.data[part.name]
            ]
            for part in PARTS
        }
        self.newcomers: list[Model] = []
        """People and builders who were not known here before."""
        self.contacts: list[BuilderContact] = []
        check_belongs(self.rows, self.manifest["site"])
        self._refuse_known()
        self._refuse_unreadable()

    def plan(self) -> Plan:
        people = self.rows["users"]
        here = User.objects.in_bulk([person.pk for person in people])
        builder = self.rows["builder"][0]
        return Plan(
            self.verified,
            builder.name,
            Builder.objects.filter(pk=builder.pk).exists(),
            sorted(str(person) for person in people if person.pk not in here),
            sorted(str(person) for person in here.values()),
            len(self.rows["reports"]),
        )

    def _refuse_known(self) -> None:
        if Site.objects.filter(pk=self.manifest["site"]).exists():
            raise BadExport("This site is here already.")
        for row in self.rows["builder"]:
            namesake = Builder.objects.filter(name__iexact=row.name).exclude(pk=row.pk)
            if namesake.exists():
                raise BadExport(
                    f"Another builder here is called {row.name}. Give that one another name first."
                )
        for row in self.rows["users"]:
            if User.objects.filter(email__iexact=row.email).exclude(pk=row.pk).exists():
                raise BadExport(f"The address {row.email} belongs to another person here.")

    def _refuse_unreadable(self) -> None:
        """What pages would have to read later, they have to be able to read."""
        for run in self.rows["wall_runs"]:
            try:
                stored_levels.upgraded(run.levels)
            except stored_levels.UnknownLevels as error:
                raise BadExport(f"{run.label}: {error}") from error
            except (KeyError, TypeError, ValueError, AttributeError) as error:
                raise BadExport(f"{run.label} has levels that can't be read.") from error
        for marks in self.rows["markup"]:
            try:
                clean_shapes(marks.shapes)
            except (MarkupError, KeyError, TypeError, ValueError, AttributeError) as error:
                raise BadExport("A photo has marks that can't be read.") from error
        for report in self.rows["reports"]:
            if report.issued_at and snapshot_digest(report.snapshot) != report.digest:
                raise BadExport(f"{report} is not as it was issued: its digest does not fit.")

    def put_files(self) -> None:
        for original in self.rows["originals"]:
            if not original.is_deleted:
                with store.workspace() as folder:
                    self._unpack(self._name(original.digest), folder / "original")
                    store.put(folder / "original", original.storage_name)
        for paper in self.rows["papers"]:
            if paper.state == Paper.State.MADE and not storages["papers"].exists(
                paper.storage_name
            ):
                with self.bundle.open(self._name(paper.digest)) as stream:
                    stored = storages["papers"].save(paper.storage_name, File(stream))
                if stored != paper.storage_name:
                    raise BadExport(f"The paper {paper.storage_name} could not be put in place.")

    def _name(self, digest: str) -> str:
        if digest not in self.verified.names:
            raise BadExport(f"The file {digest} is missing.")
        return self.verified.names[digest]

    def _unpack(self, name: str, target: Path) -> None:
        with self.bundle.open(name) as stream, target.open("wb") as out:
            while chunk := stream.read(1 << 20):
                out.write(chunk)

    def put_rows(self, approved_by: User | None) -> Site:
        for part in PARTS:
            self._put_part(part)
        site = Site.objects.get(pk=self.manifest["site"])
        self._put_record(site)
        notify = json_of(self.bundle.read("data/notify.json"), "data/notify.json")
        told = BuilderContact.objects.filter(user__in=notify, builder=site.builder_id)
        site.notify.set(told.filter(user__in=[row.user_id for row in self.rows["contacts"]]))
        data = {
            "made_at": self.manifest["made_at"][:40],
            "entries": self.manifest["record_entries"],
            "key": self.verified.key_id,
        }
        append(site, approved_by, Verb.IMPORTED, data, rows=self._unlike(site))
        told_of_site = {"site": str(site.pk), "key": self.verified.key_id}
        append(None, approved_by, Verb.IMPORTED, told_of_site, rows=self.newcomers)
        return site

    def _put_part(self, part: Part) -> None:
        special = {
            User: self._put_people,
            Builder: self._put_new,
            BuilderContact: self._put_contacts,
            Original: self._put_originals,
            Paper: self._put_papers,
            Message: self._put_messages,
            PhotoFlag: self._put_flags,
            SiteReport: self._put_reports,
        }
        if part.model in (RunCheck, DefectItem):
            return  # with their report
        put = special.get(part.model, lambda rows: part.model._default_manager.bulk_create(rows))
        put(self.rows[part.name])

    def _put_new(self, rows: list) -> None:
        known = type(rows[0]).objects.in_bulk([row.pk for row in rows]) if rows else {}
        for row in rows:
            if row.pk not in known:
                _insert(row)
                self.newcomers.append(row)

    def _put_people(self, rows: list) -> None:
        for row in rows:
            row.set_unusable_password()
            row.is_active = row.is_owner = row.is_superuser = False
            row.role, row.last_login, row.session_epoch = "", None, 0
        self._put_new(rows)

    def _put_contacts(self, rows: list) -> None:
        """Contacts come back switched off and for this one site, unless they are here already."""
        new = {row.pk for row in self.newcomers}
        for row in rows:
            if row.user_id in new:
                row.all_sites = row.is_active = False
                row.save(force_insert=True)
                self.newcomers.append(row)
        self.contacts = [row for row in rows if row.user_id in new]

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
            row.claimed_by, row.checkpoint = "", None
            if row.state in Paper.UNFINISHED:
                row.state, row.attempts, row.next_try_at = Paper.READY, 0, clock.now()
        Paper.objects.bulk_create(rows)

    def _put_messages(self, rows: list) -> None:
        """Kept as a record of what was sent; nothing goes from here that was to go from there."""
        rows = [row for row in rows if row.to_id]
        for row in rows:
            row.claimed_by = ""
            if row.state not in (Message.State.SENT, Message.State.GIVEN_UP):
                row.state, row.next_try_at = Message.State.DROPPED, None
                row.error = row.error or "the site came from another installation."
        Message.objects.bulk_create(rows)

    def _put_flags(self, rows: list) -> None:
        """A photo of another site that one names is not here."""
        photos = {photo.pk for photo in self.rows["photos"]}
        for row in rows:
            if row.other_photo_id not in photos:
                row.other_photo_id = None
        PhotoFlag.objects.bulk_create(rows)

    def _put_reports(self, reports: list) -> None:
        checks, items = self.rows["checks"], self.rows["items"]
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
        entries = [self._entry(site, line) for line in lines_of(self.bundle, RECORD)]
        RecordEntry.objects.bulk_create(entries)
        if "data/commitments.jsonl" in self.bundle.namelist():
            self._put_beside(site)

    def _entry(self, site: Site, line: bytes) -> RecordEntry:
        plain = row_of(line, RECORD)
        try:
            entry = RecordEntry(
                site=site,
                sequence=plain["sequence"],
                at=datetime.fromisoformat(plain["at"]),
                actor_id=UUID(plain["actor"]) if plain["actor"] else None,
                verb=plain["verb"],
                data=plain["data"],
                rows=plain.get("rows", {}),
                previous_digest=plain["previous"],
            )
            fits = entry.canonical() == line and len(entry.verb) <= 40
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise BadExport("An entry of the Record can't be read.") from error
        if not fits:
            raise BadExport(f"Entry {entry.sequence} of the Record can't be kept as it is.")
        entry.digest = entry.computed_digest()
        return entry

    def _put_beside(self, site: Site) -> None:
        """What stands beside the chain: texts, and what digests of rows were made of."""
        keys = dict(RecordEntry.objects.filter(site=site).values_list("sequence", "pk"))

        def rows(name: str, *columns: str) -> Iterator[dict]:
            for row in rows_in(self.bundle, name):
                if set(row) != {"sequence", *columns} or row["sequence"] not in keys:
                    raise BadExport(f"data/{name}.jsonl has a line that belongs to no entry.")
                yield row | {"entry_id": keys[row.pop("sequence")]}

        said = rows("said", "name", "text", "salt")
        Said.objects.bulk_create(Said(**row) for row in said)
        commitments = rows("commitments", "row", "salt", "leaves")
        Commitment.objects.bulk_create(Commitment(site=site, **row) for row in commitments)

    def _unlike(self, site: Site) -> list[Model]:
        """The rows that stand here otherwise than in the Record, which the import tells of.

        Of an old export all, as its Record has no digests; of one of today only what an import has
        to set itself. Anything else is refused.
        """
        told = dict(Commitment.objects.filter(site=site).values_list("row", "leaves"))
        rows = {key_of(row): row for kept in OF_SITES for row in shape_of(kept).of_sites([site.pk])}
        now = {form.row: form for form in forms_of(rows.values())}
        if self.verified.key:
            for name, form in now.items():
                _refuse_unlike(form, told.get(name, {}))
        return [rows[name] for name, form in now.items() if told.get(name) != form.leaves]


def _refuse_unlike(form: Form, told: dict) -> None:
    table = form.row.split("/")[0]
    shape = shape_of(BY_NAME[table])
    for column, leaf in form.leaves.items():
        recorded = told.get(column, shape.default_leaf(column, form.salt))
        if leaf != recorded and column not in UNLIKE_HERE.get(table, ()):
            raise BadExport(f"{form.row} can't be kept as its Record tells of it: {column}.")


def _insert(row) -> None:
    """Insert a row with its own times, also where the model would put the time of now."""
    model = type(row)
    own = [f.attname for f in model._meta.concrete_fields if getattr(f, "auto_now_add", False)]
    times = {name: getattr(row, name) for name in own}
    row.save(force_insert=True)
    if times:
        model.objects.filter(pk=row.pk).update(**times)
