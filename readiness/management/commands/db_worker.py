"""The name that version 0.1 had for the worker, so that its unit files still start one."""

from readiness.management.commands.worker import Command as Worker


class Command(Worker):
    help = "The same as worker."

    def add_arguments(self, parser):
        parser.add_argument("given", nargs="*", help="Ignored.")
