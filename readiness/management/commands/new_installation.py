"""Makes a further installation on this machine, for another firm, served by the same program."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from readiness.operations import Trouble
from readiness.operations.installing import New, Wanted, new_installation
from readiness.operations.secret_addresses import read_address

NEW_EMAIL = "READINESS_NEW_EMAIL_URL"
NEW_DATABASE = "READINESS_NEW_DATABASE_URL"
NEW_OWNER = "READINESS_NEW_OWNER_DATABASE_URL"


class Command(BaseCommand):
    help = (
        "Make an installation of its own for one firm: a folder with its secret key, variables, "
        "migrated database, place for back-ups, and units for systemd and nginx. Needs no settings."
    )
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("name", metavar="NAME", help="Small letters, digits and hyphens.")
        parser.add_argument("--host", required=True, help="Its host name: ready.firm.example")
        parser.add_argument(
            "--under", type=Path, default=Path("/srv/readiness"), metavar="DIR",
            help="The folder of all installations (/srv/readiness).",
        )  # fmt: skip
        parser.add_argument("--user", default="", help="Who runs it (whoever runs this).")
        parser.add_argument(
            "--email-url",
            help="Its mail server, as README has it. With a password in it: in the variable "
            f"{NEW_EMAIL}, or - to read it from standard input.",
        )
        parser.add_argument(
            "--database-url",
            help=f"PostgreSQL (SQLite in its folder); likewise {NEW_DATABASE}, or - for the next "
            f"line of standard input. {NEW_OWNER} names the role that owns its tables, to migrate.",
        )
        parser.add_argument("--port", type=int, help="Its port on 127.0.0.1 (the next free one).")

    def handle(self, *, name, host, under, user, email_url, database_url, port, **options):
        try:
            mail = read_address(email_url, "--email-url", NEW_EMAIL)
            database = read_address(database_url, "--database-url", NEW_DATABASE)
            owner = read_address(None, "", NEW_OWNER)
            wanted = Wanted(name, under, host, user, mail, database, owner, port)
            made = new_installation(wanted)
        except Trouble as trouble:
            raise CommandError(str(trouble)) from trouble
        self._tell(made, wanted)

    def _tell(self, made: New, wanted: Wanted) -> None:
        self.stdout.write(f"{made.folder} is made; its site will listen on 127.0.0.1:{made.port}.")
        if not wanted.email_url:
            self.stdout.write(f"Fill in EMAIL_URL in {made.env_file}: it does not start without.")
        self.stdout.write(
            "The first user:\n"
            f"  (set -a; . {made.env_file}; "
            '.venv/bin/python manage.py add_owner you@example.com --name "Your Name")\n'
            f"Units for systemd and nginx are in {made.units}. As root:\n"
            f"  cp {made.units}/*.service {made.units}/*.timer /etc/systemd/system/\n"
            "  systemctl daemon-reload\n"
            f"  systemctl enable --now portal-{wanted.name}-web portal-{wanted.name}-worker "
            f"portal-{wanted.name}-backup.timer\n"
            f"  cp {made.units}/*.conf /etc/nginx/conf.d/   # certificates first"
        )
