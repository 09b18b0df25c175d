"""Moves everything that the database holds to another one, SQLite or PostgreSQL."""

import environ
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management.base import BaseCommand, CommandError

from readiness.operations import Trouble
from readiness.operations.moving import move_data


class Command(BaseCommand):
    help = (
        "Copy every row of this database into another one, empty and migrated, to the microsecond, "
        "and check the Record there. Stop the site and the worker first. Photos and papers stay "
        "where they are. Leave the password out of the address (others on this machine see it): "
        "PGPASSWORD or the file ~/.pgpass give it, too."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--to",
            required=True,
            metavar="DATABASE_URL",
            help="postgres://user@host:5432/name, or sqlite:////folder/db.sqlite3",
        )

    def handle(self, *, to, **options):
        try:
            moved = move_data(config_of(to), to, say=self.stdout.write)
        except Trouble as trouble:
            raise CommandError(str(trouble)) from trouble
        self.stdout.write(
            f"{moved.rows} rows of {moved.tables} tables are in the new database, and the Record "
            "is whole. Set DATABASE_URL to it, then start the site and the worker. The old "
            "database is as it was, with a note that its data went."
        )


def config_of(url: str) -> dict:
    """Django's settings of a database address. Raises ``CommandError``."""
    try:
        config = environ.Env.db_url_config(url)
        engine = config["ENGINE"].rpartition(".")[2]
    except (ImproperlyConfigured, ValueError, KeyError, TypeError) as error:
        raise CommandError(f"The address of the database can't be read: {error}") from error
    if engine not in ("sqlite3", "postgresql") or not config.get("NAME"):
        raise CommandError("The database to move to is named as postgres://... or sqlite:////...")
    if engine == "sqlite3":
        config["OPTIONS"] = settings.SQLITE_OPTIONS
    return config
