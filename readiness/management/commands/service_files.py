"""Prints units for systemd and a site for nginx that fit this machine."""

import os
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from readiness.operations import Trouble
from readiness.operations import service_files as files


class Command(BaseCommand):
    help = (
        "Print systemd units (site, worker, nightly back-up) and nginx's configuration for this "
        "machine: its folders, user and Python are filled in. Run it with the variables set that "
        "the services will have."
    )

    def add_arguments(self, parser):
        parser.add_argument("--out", type=Path, metavar="DIR", help="Write files instead.")
        parser.add_argument(
            "--name", default="portal", help="What the files' names start with (portal)."
        )
        parser.add_argument("--user", default="", help="Who runs the services (whoever runs this).")
        parser.add_argument(
            "--env-file", type=Path, help="The file with the variables (/etc/NAME.env)."
        )
        parser.add_argument(
            "--backups", type=Path, metavar="DIR", help="Where back-ups go (/var/backups/NAME)."
        )
        parser.add_argument(
            "--processes",
            type=int,
            default=(os.cpu_count() or 1) + 1,
            help="How many processes serve the site (one more than this machine has cores).",
        )
        parser.add_argument("--port", type=int, default=8000, help="The site's own port (8000).")

    def handle(self, *, out, name, user, env_file, backups, processes, port, **options):
        try:
            place = files.place_here(
                name,
                user,
                env_file=env_file or Path(f"/etc/{name}.env"),
                backups=backups or Path(f"/var/backups/{name}"),
                port=port,
                workers=processes,
            )
            made = files.service_files(place)
            if out:
                files.write(made, out)
        except Trouble as trouble:
            raise CommandError(str(trouble)) from trouble
        for file_name, text in made.items():
            self.stdout.write(str(out / file_name) if out else f"# ---- {file_name}\n{text}")
        self.stderr.write("To install them, as root:")
        for words in files.how_to_install(place):
            self.stderr.write(f"  {words}")
