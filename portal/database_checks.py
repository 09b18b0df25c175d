"""System checks of the database: its tables, triggers and role, and what stands in it."""

from datetime import timedelta

from django.conf import settings
from django.core.checks import Error, Info, Tags, Warning, register
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from readiness.models import Business, LastDone, User, freeze
from readiness.models.search import is_indexed
from readiness.models.versions import migrating
from readiness.operations.moving import MOVED_AWAY
from readiness.operations.roles import role
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import counted, listed

WORKER_IS_LATE_AFTER = timedelta(minutes=10)


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
    """Issued reports, the Record and other evidence are guarded by the database itself.

    A warning, because `migrate` itself runs this check and puts the triggers back.
    """
    missing = [name for using in databases or [] for name in freeze.missing(using)]
    if not missing:
        return []
    return [
        Warning(
            "Issued reports, the Record and other evidence could be changed: the database has "
            f"lost its triggers {listed(missing)}.",
            hint="python manage.py migrate; then python manage.py verify_record",
            id="portal.W004",
        )
    ]


@register(Tags.database, deploy=True)
def check_role(app_configs, databases=None, **kwargs):
    """PostgreSQL: who owns the tables can switch their triggers off. Says which role is in use.

    Silent while `migrate` runs, which needs the owner.
    """
    ours = role() if databases and not migrating.get() else None
    if ours is None:
        return []
    if ours.is_bound:
        return [
            Info(
                f"The portal works in the database as {ours.name}, which can neither switch off "
                "triggers nor empty tables.",
                id="portal.I030",
            )
        ]
    why = "is a superuser" if ours.is_superuser else "may change the tables themselves"
    return [
        Warning(
            f"The portal works in the database as {ours.name}, which {why}: whoever gets its "
            "password can switch off the triggers that guard the evidence.",
            hint="Let an owner's role migrate and the portal work as another: README, “Two roles "
            "in PostgreSQL”.",
            id="portal.W030",
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
