"""The name that version 0.1 had for the worker, so that its unit files still start one."""

from readiness.management.commands.worker import Command as Worker


class Command(Worker):
    help = "The same as worker. What the one of version 0.1 was told is not needed any more."

    def add_arguments(self, parser):
        for name in ("--interval", "--queue-name", "--worker-id"):
            parser.add_argument(name, help="Not needed any more.")
        parser.add_argument("--no-startup-delay", action="store_true", help="Not needed any more.")
