"""Reading the installation's settings from environment variables, failing loudly and clearly."""

import os
import secrets
from pathlib import Path
from urllib.parse import urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured

from portal.loopback import is_loopback

env = environ.FileAwareEnv()
"""Typed reader; `NAME_FILE` names a file that holds the value of `NAME` (for secrets)."""


def required(name, meaning):
    """The text value of a variable that production cannot do without.

    Raises:
        ImproperlyConfigured: neither `name` nor `name_FILE` is set, or it is empty.
    """
    value = env.str(name, default="").strip()
    if not value:
        raise ImproperlyConfigured(
            f"Set the environment variable {name} (or {name}_FILE, a file that holds it): "
            f"{meaning}. To try the portal without any of this, run: python manage.py demo"
        )
    return value


def only_this_machine(hosts, url):
    """Raises ImproperlyConfigured where the demo is to be reached from another machine."""
    named = [*hosts, urlsplit(url).hostname or ""]
    elsewhere = [host for host in named if not is_loopback(host)]
    if elsewhere:
        raise ImproperlyConfigured(
            f"The demo runs on this machine only, and {elsewhere[0]} is not this machine: "
            "everybody who reaches it can sign in. Leave ALLOWED_HOSTS and READINESS_URL out, or "
            "set the portal up without READINESS_DEMO, as README says."
        )


def kept_secret(path: Path) -> str:
    """The secret in a file that only this user can read, made on first use."""
    try:
        return path.read_text().strip()
    except FileNotFoundError:
        pass
    path.parent.mkdir(mode=0o750, parents=True, exist_ok=True)
    secret = secrets.token_urlsafe(64)
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:  # another process was first
        return path.read_text().strip()
    with os.fdopen(descriptor, "w") as file:
        file.write(secret)
    return secret
