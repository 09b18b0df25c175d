#!/usr/bin/env python
"""Run one of the project's commands. `manage.py demo` runs in the embedded mode by itself."""

import os
import sys
import tempfile


def main():
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
    if "demo" in sys.argv[1:2]:
        os.environ.setdefault("READINESS_DEMO", "1")
    if "new_installation" in sys.argv[1:2]:  # it has no settings yet: it makes them
        nothing = tempfile.TemporaryDirectory()
        os.environ |= {"READINESS_DEMO": "1", "READINESS_DATA": nothing.name, "DATABASE_URL": ""}
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except (
        ImproperlyConfigured
    ) as error:  # some of Django's commands read settings before they say so
        sys.exit(f"{error}")


if __name__ == "__main__":
    main()
