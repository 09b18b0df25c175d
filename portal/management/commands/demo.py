"""`manage.py demo`: the whole portal in one process, with an invented firm's sites to play with."""

from __future__ import annotations

import json
import shutil
import signal
from time import monotonic

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.db import connection, connections
from django.urls import reverse

from portal.accounts.demo import sign_in_path
from portal.background import BackgroundWorker
from portal.compressed_static import serve_compressed
from readiness.models import User

STORED = ("photos", "papers", "files", "mail", "static")
MARK = "demo.json"


class Command(BaseCommand):
    help = "Serve the portal on this machine with the demo scenario, background work included."

    def add_arguments(self, parser):
        parser.add_argument(
            "--prepare", action="store_true", help="Load the scenario and exit, without serving."
        )
        parser.add_argument(
            "--fresh",
            action="store_true",
            help="Throw away what is in READINESS_DATA and load the scenario anew.",
        )
        parser.add_argument("--port", type=int, default=8000, help="Port to serve on (8000).")

    def handle(self, *, prepare, fresh, port, **options):
        if not settings.READINESS_DEMO:
            raise CommandError("The demo runs in its own mode only: start it with manage.py demo.")
        if not 1 <= port <= 65_535:
            raise CommandError(f"Port {port} can't be used: ports go from 1 to 65535.")
        _answer_at(port)
        server = None if prepare else self._open(port)
        try:
            people = self._loaded(fresh=fresh)
            if server is not None:
                self._serve(server, port, people)
        finally:
            if server is not None:
                server.server_close()

    def _open(self, port) -> ThreadedWSGIServer:
        """Take the port first: a port in use is found before the scenario is loaded."""
        try:
            server = ThreadedWSGIServer(("127.0.0.1", port), QuietHandler)
        except OSError as error:
            raise CommandError(
                f"Port {port} can't be used ({error.strerror.lower()}). "
                f"Try another: manage.py demo --port {port + 1}"
            ) from error
        server.daemon_threads = True
        return server

    # The data

    def _loaded(self, *, fresh: bool) -> dict[str, str]:
        """The people to sign in as, by their part; the scenario is loaded if it is not there."""
        mark = settings.READINESS_DATA / MARK
        if fresh:
            self._empty()
        call_command("migrate", verbosity=0, interactive=False)
        if mark.exists():
            people = json.loads(mark.read_text())
            if people.get("loaded"):
                return people
            self.stdout.write("The last loading was cut off: starting it again.")
            self._empty()
            call_command("migrate", verbosity=0, interactive=False)
        elif User.objects.exists():
            raise CommandError(
                f"{settings.READINESS_DATA} holds an installation that is not the demo's. "
                "Name another folder in READINESS_DATA."
            )
        mark.write_text(json.dumps({"loaded": False}))
        people = self._load()
        mark.write_text(json.dumps({"loaded": True, **people}))
        return people

    def _empty(self) -> None:
        """Only a demo's own data is ever thrown away."""
        folder = settings.READINESS_DATA
        database = settings.DATABASES["default"]
        used = connection.introspection.table_names()
        if used and not (folder / MARK).exists():
            raise CommandError(
                f"{folder} holds an installation that is not the demo's: nothing was deleted. "
                "Name another folder in READINESS_DATA."
            )
        if database["ENGINE"].endswith("sqlite3"):
            connections.close_all()
            for path in folder.glob("db.sqlite3*"):
                path.unlink()
        elif used:
            call_command("flush", verbosity=0, interactive=False)
        for name in STORED:
            shutil.rmtree(folder / name, ignore_errors=True)
        (folder / MARK).unlink(missing_ok=True)

    def _load(self) -> dict[str, str]:
        from readiness.demo.scenario import load

        started = monotonic()
        self.stdout.write("Loading the demo: taking photos, writing reports, making papers.")
        people = load(say=lambda words: self.stdout.write(f"  {words}"))
        self.stdout.write(f"Loaded in {monotonic() - started:.0f} s.")
        return {
            "applicator": str(people.owner.pk),
            "builder": str(people.supervisor.pk),
            "other_builder": str(people.rival.pk),
        }

    # Serving

    def _serve(self, server, port, people) -> None:
        signal.signal(signal.SIGTERM, _as_interrupt)
        server.set_app(_application())
        worker = BackgroundWorker()
        worker.start()
        self._greet(port, people)
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            self.stdout.write("\nStopping. What you did is kept for the next time.")
        finally:
            worker.stop()

    def _greet(self, port, people) -> None:
        site = f"http://127.0.0.1:{port}"
        self.stdout.write(
            f"\nServing on {site}/ (Ctrl-C stops it). Everything is kept in "
            f"{settings.READINESS_DATA}\nE-mails are written to its folder mail. "
            "Firms, people and photos are invented.\n\nSign in with one click "
            "(links work for 24 hours):"
        )
        for part, words in (
            ("applicator", "Applicator"),
            ("builder", "Builder contact"),
            ("other_builder", "Contact of another builder"),
        ):
            user = User.objects.get(pk=people[part])
            firm = "".join(f", {contact.builder}" for contact in user.active_memberships)
            self.stdout.write(f"\n  {words}: {user}{firm}\n  {site}{sign_in_path(user)}")
        self.stdout.write(f"\nOr sign in by e-mailed code at {site}{reverse('account_login')}\n")
        self.stdout.flush()


class QuietHandler(WSGIRequestHandler):
    """Answers without a line of log for each request."""

    def log_message(self, format, *args):
        pass


def _answer_at(port: int) -> None:
    """Links in e-mails and papers name the port that is served, unless READINESS_URL is set."""
    if settings.SITE_URL == "http://127.0.0.1:8000":
        settings.SITE_URL = f"http://127.0.0.1:{port}"
        settings.CSRF_TRUSTED_ORIGINS = [settings.SITE_URL]


def _application():
    """The portal, with its styles and scripts compressed before it looks for them."""
    serve_compressed(settings.READINESS_DATA / "static")
    from portal.wsgi import application

    return application


def _as_interrupt(signum, frame):
    raise KeyboardInterrupt
