"""Makes the data of one version that later versions are upgraded from: a small demo of its own.

Run once for each version that is released, with the code of that version, and commit the file:

    .venv/bin/python tests/upgrades/make_fixture.py tests/upgrades/fixtures/0.2.0.tar.xz

Versions up to 0.2.0 drew the demo's photos: their fixtures were made by the file of that time.

It holds `db.sqlite3` as that version left it (its own triggers included), the originals of the
photos, the papers, and one site's export. The demo's photos are made small; sizes are left out,
as the portal makes them again. Nothing in it names the machine it was made on.
"""

import io
import os
import sqlite3
import sys
import tarfile
import tempfile
from contextlib import closing
from pathlib import Path
from uuid import uuid4

STREETS = (
    "41 Billycan Street",  # confirmed, a day asked for
    "19 Drovers Loop",  # offered before it is ready
    "16 Emberwood Drive",  # treated
    "2 Gumnut Gully",  # turned away, with a report that supersedes another
    "60 Kelpie Court",  # a draft
    "11 Bandicoot Bend",  # not visited
)
"""The demo's sites that are kept, one of each state that stores something of its own."""
EXPORTED = "19 Drovers Loop"
TASKS_KEPT = 8
PIXELS = {"small": (480, 360), "usual": (640, 480), "tall": (360, 480), "full": (640, 480)}
QUALITY = 40
ARROW = {"kind": "arrow", "from": [0.2, 0.2], "to": [0.5, 0.5]}
BLUR = {"kind": "blur", "box": [0.7, 0.1, 0.9, 0.3]}
MEASURED = {
    "version": 2,
    "wanted": "distance",
    "direction": "straight",
    "set": [{"shown_px": 358, "zoom": 1.0, "loupe": True}] * 6,
    "corners": [[0.2, 0.2], [0.6, 0.2], [0.6, 0.6], [0.2, 0.6]],
    "start": [0.2, 0.4],
    "end": [0.6, 0.4],
    "reference": {"kind": "known", "width_mm": 480, "height_mm": 300, "tolerance_mm": 2},
}
OVERRIDES = {"due_working_days": "3", "litres_per_10_m": "1.2", "rod_diameters_mm": "6, 10, 20"}
EPOCH = 1_577_836_800


def main(out: Path) -> None:
    with tempfile.TemporaryDirectory(prefix="fixture-") as folder:
        _set_up(Path(folder))
        _tell()
        _cut_down(Path(folder) / "db.sqlite3")
        _drop_files_without_a_row(Path(folder))
        _export(Path(folder))
        _check()
        _pack(Path(folder), out)


def _set_up(folder: Path) -> None:
    sys.path.insert(0, os.getcwd())
    os.environ |= {
        "DJANGO_SETTINGS_MODULE": "portal.settings",
        "READINESS_DEMO": "1",
        "READINESS_DATA": str(folder),
        "READINESS_URL": "https://ready.example",
        "SECRET_KEY": "the fixture has no secrets",
    }
    import django

    django.setup()


def _tell() -> None:
    """The demo with small photos, then what its scenario stores nothing of."""
    from django.core.management import call_command

    from readiness.demo import album, camera

    album.SIZES, camera.QUALITY = PIXELS, QUALITY
    call_command("demo", prepare=True)

    from readiness.demo.steps import work_off

    _add_what_the_demo_lacks()
    work_off()


def _add_what_the_demo_lacks() -> None:
    from allauth.mfa.totp.internal.auth import TOTP
    from django.contrib.sessions.backends.db import SessionStore

    from readiness.actions import referrals
    from readiness.actions.firm import business, days_off, rule_values
    from readiness.actions.people import inviting, rights
    from readiness.actions.photos import keeping
    from readiness.models import BuilderContact, Photo, PhotoFlag, Site, User
    from readiness.rules.days_off import DayOff, Repeats

    owner = User.objects.get(is_owner=True)
    photo = Photo.objects.filter(site__street=STREETS[3], fix=None).order_by("received_at").first()
    keeping.save_markup(owner, photo, [ARROW, BLUR], seen_version=0)
    keeping.save_measurement(owner, photo, MEASURED)
    fixed = Photo.objects.filter(site__street=STREETS[3]).exclude(fix=None).first()
    PhotoFlag.objects.create(photo=fixed, code="edited", sentence="Edited after it was taken.")
    rule_values.change_rule_values(owner, OVERRIDES)
    off = DayOff(
        "Show day", Repeats.WEEKDAY, nth=1, weekday=0, month=3, postcodes=(("4000", "4179"),)
    )
    days_off.keep_day_off(owner, off, day_off_id=uuid4())
    business.change_business(owner, share_positions=True, report_introduction="Read page one.")
    one_site = list(Site.objects.filter(street=STREETS[0]))
    limited = BuilderContact.objects.get(all_sites=False)
    rights.change_contact(owner, limited, position="Trainee", sites=one_site)
    inviting.invite_contact(owner, one_site[0].builder, "more@kettlestone.example", sites=one_site)
    wall = one_site[0].wall_runs.filter(removed_at=None).last()
    found = referrals.note_live_termites(owner, one_site[0], wall_run=wall, from_mm=900)
    referrals.decide_referral(owner, found, outcome="not_termites", reason="Ants.")
    barred = referrals.note_no_access(owner, wall, cause="boundary", from_mm=0, to_mm=1200)
    referrals.decide_referral(owner, barred, outcome="not_treated", reason="60 mm to the fence.")
    TOTP.activate(owner, "JBSWY3DPEHPK3PXP")  # RFC 4648 base 32; opens nothing
    session = SessionStore()
    session["seen"] = True
    session.save()


def _cut_down(path: Path) -> None:
    """Leave the sites that are not kept out, and everything that hangs on them."""
    from django.db import connections

    connections.close_all()
    with closing(sqlite3.connect(path, isolation_level=None)) as database:
        database.execute("PRAGMA foreign_keys = OFF")
        triggers = database.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in triggers:
            database.execute(f'DROP TRIGGER "{name}"')
        marks = ", ".join("?" * len(STREETS))
        database.execute(f"DELETE FROM readiness_site WHERE street NOT IN ({marks})", STREETS)
        _delete_orphans(database)
        database.execute(
            "DELETE FROM readiness_original "
            "WHERE digest NOT IN (SELECT original_id FROM readiness_photo)"
        )
        _delete_orphans(database)
        database.execute(
            "DELETE FROM django_tasks_database_dbtaskresult WHERE id NOT IN "
            "(SELECT id FROM django_tasks_database_dbtaskresult ORDER BY enqueued_at LIMIT ?)",
            [TASKS_KEPT],
        )
        database.execute("UPDATE django_tasks_database_dbtaskresult SET worker_ids = '[]'")
        for _, statement in triggers:
            database.execute(statement)
        database.execute("PRAGMA journal_mode = DELETE")
        database.execute("VACUUM")


def _delete_orphans(database) -> None:
    """Rows whose parent is gone, then theirs, until none are left."""
    while orphans := {row[:2] for row in database.execute("PRAGMA foreign_key_check")}:
        for table, row in orphans:
            database.execute(f'DELETE FROM "{table}" WHERE rowid = ?', [row])


def _drop_files_without_a_row(folder: Path) -> None:
    from readiness.models import Original, Paper

    named = {f"photos/{original.storage_name}" for original in Original.objects.all()}
    named |= {f"papers/{paper.storage_name}" for paper in Paper.objects.all()}
    for path in [*folder.rglob("photos/**/*"), *folder.rglob("papers/**/*")]:
        if path.is_file() and str(path.relative_to(folder)) not in named:
            path.unlink()


def _export(folder: Path) -> None:
    from readiness.handover.export import export_site
    from readiness.models import Site

    export_site(Site.objects.get(street=EXPORTED), folder / "export.zip")


def _check() -> None:
    from django.core.management import call_command
    from django.db import connection

    call_command("verify_record")
    connection.cursor().execute("PRAGMA journal_mode = DELETE")
    connection.close()


def _pack(folder: Path, out: Path) -> None:
    """The files in the order of their names, without times, owners or paths of this machine."""
    out.parent.mkdir(parents=True, exist_ok=True)
    paths = [folder / "db.sqlite3", folder / "export.zip"]
    paths += [path for name in ("photos", "papers") for path in (folder / name).rglob("*")]
    with tarfile.open(out, "w:xz", preset=9) as packed:
        for path in sorted(path for path in paths if path.is_file()):
            content = path.read_bytes()
            _refuse_paths(path.name, content, folder)
            info = tarfile.TarInfo(str(path.relative_to(folder)))
            info.size, info.mtime, info.mode = len(content), EPOCH, 0o644
            packed.addfile(info, io.BytesIO(content))
    print(f"{out}: {out.stat().st_size / 1e6:.1f} MB")


def _refuse_paths(name: str, content: bytes, folder: Path) -> None:
    for path in (folder, Path.cwd(), Path.home(), Path(sys.prefix)):
        if len(str(path)) > 3 and str(path).encode() in content:
            raise SystemExit(f"{name} names {path}: nothing was written.")


if __name__ == "__main__":
    main(Path(sys.argv[1]).absolute())
