"""Moves everything that the database holds to another one, SQLite or PostgreSQL."""

import environ
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management.base import BaseCommand, CommandError

from readiness.operations import Trouble, moving
from readiness.operations.secret_addresses import read_address

NEW_DATABASE = "READINESS_NEW_DATABASE_URL"


class Command(BaseCommand):
    help = (
        "Copy every row of this database into another one, empty and migrated, to the microsecond, "
        "and check the Record there. Stop the site and the worker first. Photos and papers stay "
        "where they are. An address with a password comes in the variable "
        f"{NEW_DATABASE} or on standard input (--to -); PGPASSWORD or the file "
        "~/.pgpass give a password, too."
    )

    def add_arguments(self, parser):
        what = parser.add_mutually_exclusive_group()
        what.add_argument(
            "--to",
            metavar="DATABASE_URL",
            help=(
                "postgres://user@host:5432/name, or sqlite:////folder/db.sqlite3, or - to read it "
                f"from standard input; {NEW_DATABASE} is asked where it is left out."
            ),
        )
        what.add_argument(
            "--cancel",
            action="store_true",
            help="Go on with this database after all: take the note away that its data went.",
        )

    def handle(self, *, to, cancel, **options):
        if cancel:
            self._cancel()
            return
        try:
            url = read_address(to, "--to", NEW_DATABASE)
            if to is None and not url:
                raise Trouble(f"Name the database to move to in {NEW_DATABASE} or with --to.")
            moved = moving.move_data(config_of(url), url, say=self.stdout.write)
        except Trouble as trouble:
            raise CommandError(str(trouble)) from trouble
        self.stdout.write(
            f"{moved.rows} rows of {moved.tables} tables are in the new database, and the Record "
            "is whole. Set DATABASE_URL to it, then start the site and the worker. The old "
            "database keeps its rows, and a note that stops the site from starting on it."
        )

    def _cancel(self) -> None:
        if not moving.cancel():
            raise CommandError("Nothing was moved away from this database.")
        self.stdout.write("This database is in use again. What was written elsewhere is not here.")


def config_of(url: str) -> dict:
    """Django's settings of a database address. Raises ``CommandError``."""
    try:
        config = environ.Env.db_url_config(url)
        engine = config["ENGINE"].rpartition(".")[2]
    except (ImproperlyConfigured, ValueError, KeyError, TypeError) as error:
        raise CommandError(f"The address of the database can't be read: {error}") from error
    name = str(config.get("NAME", ""))
    is_named = {"sqlite3": name.startswith("/"), "postgresql": bool(name)}
    if not is_named.get(engine):
        raise CommandError("The database to move to is named as postgres://... or sqlite:////...")
    if engine == "sqlite3":
        config["OPTIONS"] = settings.SQLITE_OPTIONS
    return config
