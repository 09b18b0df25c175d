"""Whole installations in folders of their own, worked by `manage.py` as an operator would."""

import json
import os
import subprocess
import sys
from pathlib import Path

from tests import migrated, warm

PROJECT = Path(__file__).resolve().parents[2]

CAST = """
import json
from tests.factories import make_applicator, make_builder, make_contact, make_runs, make_site
from readiness.models import Business
owner = make_applicator(email="owner@applicator.example", is_owner=True)
builder = make_builder("Wattle Homes")
contact = make_contact(builder, email="supervisor@wattle.example")
sites = [make_site(builder) for _ in range(3)]
for site in sites:
    make_runs(site)
"""

RECORD = """
from tests.recorded import record_rows_by_hand
record_rows_by_hand()
"""
ISSUE = """
import io
from readiness.actions.reporting.issuing import issue_report
from readiness.actions.photos.keeping import add_photo
from readiness.actions.reporting.drafts import add_item, check_run
from readiness.models import Paper, Photo, Site, SiteReport, User
from tests.factories import make_draft
from tests.photos.pictures import jpeg, scene

def issue(site, number):
    owner = User.objects.get(is_owner=True)
    draft = SiteReport.objects.filter(site=site, issued_at=None).first() or make_draft(owner, site)
    runs = list(site.wall_runs.all())
    for run in runs:
        check_run(owner, draft, run)
    photo = add_photo(owner, site, io.BytesIO(jpeg(scene(number, (900, 700)))))
    add_item(
        owner, draft, kind="mortar_drop", wall_run=runs[0], from_mm=1000, photos=[photo]
    )
    return issue_report(owner, draft), photo
"""

PAGES = """
import json
from django.test import Client
from django.urls import reverse
from readiness.models import Paper, Photo, Site, User
client = Client(headers={"host": "localhost"})
client.force_login(User.objects.get(is_owner=True))
pages = [reverse("office:home"), reverse("office:sites")]
for name in ("site", "record"):
    pages += [reverse(f"office:{name}", args=[site.pk]) for site in Site.objects.all()]
pages += [reverse("papers:paper", args=[paper.pk]) for paper in Paper.objects.made()]
pages += [reverse("photos:size", args=[photo.pk, "small"]) for photo in Photo.objects.kept()]
print("READY" + json.dumps([[page, client.get(page).status_code] for page in pages]))
"""


class Machine:
    """An installation in a folder, in the demo's mode; on SQLite unless a database is named."""

    def __init__(self, folder: Path, database_url: str = "", **extra: str):
        self.folder, self.database_url = folder, database_url
        self.environment = {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "portal.settings",
            "PYTHONPATH": str(PROJECT),
            "READINESS_DEMO": "1",
            "READINESS_DATA": str(folder),
            "READINESS_TASKS": "immediate",
            **extra,
        }
        self.environment.pop("DATABASE_URL", None)
        if database_url:
            self.environment["DATABASE_URL"] = database_url

    def start(self, *arguments: str, **options) -> subprocess.Popen:
        """A command of the installation as a process of its own."""
        options.setdefault("stdout", subprocess.PIPE)
        options.setdefault("stderr", subprocess.PIPE)
        command = [sys.executable, "manage.py", *arguments]
        return subprocess.Popen(command, cwd=PROJECT, env=self.environment, text=True, **options)

    def run(self, *arguments: str) -> subprocess.CompletedProcess:
        """A command of the installation from its start to its end."""
        return warm.manage(*arguments, environment=self.environment)

    def manage(self, *arguments: str) -> str:
        """What a command prints; it has to succeed."""
        done = self.run(*arguments)
        assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-4000:]
        return done.stdout

    def refused(self, *arguments: str) -> str:
        """What a command says as it fails."""
        done = self.run(*arguments)
        assert done.returncode == 1, done.stdout[-2000:] + done.stderr[-4000:]
        assert "Traceback" not in done.stderr, done.stderr
        return done.stderr

    def ask(self, script: str):
        """The JSON that a script prints after the word READY."""
        return json.loads(self.manage("shell", "-v0", "-c", script).split("READY")[1])

    def migrate(self) -> None:
        """Today's tables, in a database where there are none: as `manage.py migrate` makes them."""
        if self.environment.get("DATABASE_URL"):
            self.manage("migrate", "-v0")
        else:
            migrated.copy_to(self.folder / "db.sqlite3")

    def fill(self, *, migrated_already: bool = False) -> None:
        """A migrated database with a cast, and a report with a photo and papers on each site."""
        if not migrated_already:
            self.migrate()
        sites = "[issue(site, number) for number, site in enumerate(sites)]"
        self.manage("shell", "-v0", "-c", f"{CAST}\n{ISSUE}\n{sites}\n{RECORD}")

    def bad_pages(self) -> list:
        """Pages, papers and pictures that do not answer with 200."""
        answers = self.ask(PAGES)
        assert len(answers) > 8
        return [answer for answer in answers if answer[1] != 200]
