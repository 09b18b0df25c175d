"""System checks: what this machine lacks, and how to get it.

`manage.py check` runs most of them, `--deploy` adds what only production needs, and
`--database default` adds those that read the database.
"""

import ctypes
import importlib.util
import os
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.core.checks import Error, Tags, Warning, register
from django.core.files.storage import storages
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from readiness.models import Business, LastDone, User, freeze
from readiness.models.search import is_indexed
from readiness.models.versions import migrating
from readiness.operations.moving import MOVED_AWAY
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import counted, listed

LIBRARIES = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz.so.0": "libharfbuzz0b",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
"""Shared libraries that WeasyPrint loads, and the Debian package that has each."""

FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts")
WORKER_IS_LATE_AFTER = timedelta(minutes=10)


def is_loadable(library: str) -> bool:
    """Whether the system's loader finds a shared library."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def has_font(name: str) -> bool:
    """Whether a font file of such a name, a pattern without its ending, is installed."""
    return any(
        next(Path(folder).expanduser().rglob(f"{name}.{ending}"), None)
        for folder in FONT_FOLDERS
        for ending in ("ttf", "otf", "ttc")
    )


@register("papers")
def check_paper_libraries(app_configs, **kwargs):
    """Papers need Pango and HarfBuzz."""
    missing = [package for name, package in LIBRARIES.items() if not is_loadable(name)]
    if not missing:
        return []
    return [
        Error(
            "No paper can be made: WeasyPrint needs libraries that are not installed.",
            hint=f"On Debian or Ubuntu: apt install {' '.join(missing)}",
            id="portal.E001",
        )
    ]


@register("papers")
def check_fonts(app_configs, **kwargs):
    """Papers need at least one font, or every letter is a box."""
    if has_font("*"):
        return []
    return [
        Error(
            "No fonts are installed: papers would have no readable letters.",
            hint="On Debian or Ubuntu: apt install fonts-dejavu-core",
            id="portal.E002",
        )
    ]


@register("papers")
def check_paper_font(app_configs, **kwargs):
    """Papers are laid out for the Inter family: in another, lines and pages break elsewhere."""
    if has_font("Inter*"):
        return []
    return [
        Warning(
            "Papers are laid out for the Inter font, and it is not installed: another stands in.",
            hint="On Debian or Ubuntu: apt install fonts-inter",
            id="portal.W003",
        )
    ]


@register("photos")
def check_heic(app_configs, **kwargs):
    """Phones send HEIC photos."""
    if importlib.util.find_spec("pillow_heif"):
        return []
    return [
        Error(
            "HEIC photos, as many phones take them, can not be read.",
            hint="pip install pillow-heif",
            id="portal.E003",
        )
    ]


@register("storage")
def check_data_folder(app_configs, **kwargs):
    """Everything embedded is stored in READINESS_DATA."""
    folder = Path(settings.READINESS_DATA)
    nearest = next(path for path in (folder, *folder.parents) if path.exists())
    if nearest.is_dir() and os.access(nearest, os.W_OK | os.X_OK):
        return []
    return [
        Error(
            f"Nothing can be stored in {folder}.",
            hint="Make the folder, let the portal's user write in it, or set READINESS_DATA.",
            id="portal.E004",
        )
    ]


@register("storage")
def check_object_storage(app_configs, **kwargs):
    """READINESS_S3_BUCKET needs extra packages."""
    if not _uses_bucket() or all(map(importlib.util.find_spec, ("storages", "boto3"))):
        return []
    return [
        Error(
            "READINESS_S3_BUCKET is set, but the packages for it are not installed.",
            hint="pip install 'site-readiness[s3]', in this folder: pip install -e '.[s3]'",
            id="portal.E005",
        )
    ]


@register("storage", deploy=True)
def check_bucket_answers(app_configs, **kwargs):
    """A wrong name, address or key is better found now than with the first photo."""
    if not _uses_bucket() or check_object_storage(app_configs):
        return []
    try:
        storages["photos"].listdir("originals")
    except OSError as error:
        return [
            Error(
                f"Photos can't be kept in the bucket. {error}",
                hint="Look at READINESS_S3_BUCKET, READINESS_S3_ENDPOINT and the credentials.",
                id="portal.E007",
            )
        ]
    return []


def _uses_bucket() -> bool:
    return "bucket_name" in settings.STORAGES["photos"].get("OPTIONS", {})


@register("static", deploy=True)
def check_collected_files(app_configs, **kwargs):
    """Production serves style sheets and scripts from STATIC_ROOT."""
    root = settings.STATIC_ROOT
    if root is None or (Path(root) / "staticfiles.json").exists():
        return []
    return [
        Error(
            f"Style sheets and scripts have not been collected into {root}.",
            hint="python manage.py collectstatic --noinput",
            id="portal.E006",
        )
    ]


@register(Tags.database)
def check_cache_table(app_configs, databases=None, **kwargs):
    """Limits on tries are kept in a table that all workers share.

    A warning, because `migrate` itself runs this check and stops at errors.
    """
    table = settings.CACHES["default"]["LOCATION"]
    tables = connection.introspection.table_names() if databases else []
    if table in tables or User._meta.db_table not in tables:
        return []
    return [
        Warning(
            f"The table {table} is missing: nobody could sign in.",
            hint="python manage.py migrate",
            id="portal.W002",
        )
    ]


@register(Tags.database)
def check_search_index(app_configs, databases=None, **kwargs):
    """PostgreSQL needs an extension to find a piece of a word by index."""
    if not databases or is_indexed(connection):
        return []
    return [
        Warning(
            "Searches read every site: PostgreSQL has no trigram index for them.",
            hint="As the database's superuser: CREATE EXTENSION pg_trgm; then manage.py migrate",
            id="portal.W005",
        )
    ]


@register(Tags.database)
def check_migrations(app_configs, databases=None, **kwargs):
    """A program and a database of different versions do not work together: services must not start.

    Silent while `migrate` runs, which asks for this check before it brings them together.
    """
    if not databases or migrating.get():
        return []
    executor = MigrationExecutor(connection)
    loader = executor.loader
    waiting = len(executor.migration_plan(loader.graph.leaf_nodes()))
    unknown = sorted(name for _, name in unknown_migrations(loader))
    errors = []
    if waiting:
        errors.append(
            Error(
                "The database is of an earlier version, or empty: "
                f"{counted(waiting, 'migration')} to apply.",
                hint="Back up, then: python manage.py migrate",
                id="portal.E009",
            )
        )
    if unknown:
        errors.append(
            Error(
                f"A later version of the portal has changed the database: {listed(unknown)}.",
                hint="Install that version again, or restore the back-up made before it.",
                id="portal.E010",
            )
        )
    return errors


def unknown_migrations(loader: MigrationLoader) -> set[tuple[str, str]]:
    """What was applied to our tables and is not in this version, also not as a part of another."""
    known = set(loader.disk_migrations) | {
        replaced for one in loader.disk_migrations.values() for replaced in one.replaces
    }
    return {one for one in loader.applied_migrations if one[0] == "readiness"} - known


@register(Tags.database)
def check_triggers(app_configs, databases=None, **kwargs):
    """Issued reports and the Record are guarded by the database itself.

    A warning, because `migrate` itself runs this check and puts the triggers back.
    """
    missing = [name for using in databases or [] for name in freeze.missing(using)]
    if not missing:
        return []
    return [
        Warning(
            "Issued reports and the Record could be changed: the database has lost its triggers "
            f"{listed(missing)}.",
            hint="python manage.py migrate; then python manage.py verify_record",
            id="portal.W004",
        )
    ]


@register(Tags.database)
def check_rule_overrides(app_configs, databases=None, **kwargs):
    """An upgrade may narrow or take out a rule value that the business had set."""
    tables = connection.introspection.table_names() if databases else []
    if Business._meta.db_table not in tables:
        return []
    stored = Business.objects.values_list("rule_overrides", flat=True).first() or {}
    unusable = RuleValues.from_stored(stored)[1]
    if not unusable:
        return []
    return [
        Warning(
            "Rule values that the business set are not possible any more; the defaults are used: "
            f"{listed(one.key for one in unusable)}.",
            hint="An owner looks at them under Rule values, and saves.",
            id="portal.W006",
        )
    ]


@register(Tags.database)
def check_moved_away(app_configs, databases=None, **kwargs):
    """Two databases that are both worked on can't be brought together again."""
    table = LastDone._meta.db_table
    if not databases or table not in connection.introspection.table_names():
        return []
    went = LastDone.objects.filter(name=MOVED_AWAY).first()
    if went is None:
        return []
    return [
        Error(
            f"The data of this database was moved to {went.details['to']} ({went.at:%Y-%m-%d}).",
            hint="Set DATABASE_URL to it. To go on here after all: manage.py move_data --cancel",
            id="portal.E008",
        )
    ]


@register(Tags.database)
def check_worker(app_configs, databases=None, **kwargs):
    """Papers and e-mails wait for the background worker."""
    from django_tasks_db.models import DBTaskResult

    if not databases or DBTaskResult._meta.db_table not in connection.introspection.table_names():
        return []
    late = timezone.now() - WORKER_IS_LATE_AFTER
    waiting = DBTaskResult.objects.ready().filter(enqueued_at__lt=late).count()
    if not waiting:
        return []
    return [
        Warning(
            f"{waiting} papers or e-mails have waited for more than ten minutes.",
            hint="Is the background worker running? python manage.py worker",
            id="portal.W001",
        )
    ]
