"""What this installation is: its version, the state of its tables, its keys."""

import hashlib
import hmac
import os
from pathlib import Path

from django.conf import settings
from django.db import connections
from django.db.migrations.loader import MigrationLoader

from readiness.evidence import signing

EMPTY_IF_NONE_IN = (
    "readiness_user", "readiness_business", "readiness_builder", "readiness_site",
    "readiness_sitereport", "readiness_recordentry", "readiness_original", "readiness_paper",
)  # fmt: skip


def known_migrations() -> set[tuple[str, str]]:
    """Every migration that this version of the portal has, by app and name."""
    return set(MigrationLoader(None, ignore_no_migrations=True).disk_migrations)


def applied_migrations(using: str = "default") -> set[tuple[str, str]]:
    """The migrations that a database has seen, of apps that are installed here."""
    loader = MigrationLoader(connections[using], ignore_no_migrations=True)
    return set(loader.applied_migrations)


def secret_key_file() -> Path | None:
    """The file that holds the secret key, where one does."""
    if named := os.environ.get("SECRET_KEY_FILE"):
        return Path(named)
    kept = Path(settings.READINESS_DATA) / "secret_key"
    is_embedded = settings.EMBEDDED and "SECRET_KEY" not in os.environ
    return kept if is_embedded and kept.exists() else None


def key_mark() -> str:
    """Tells two secret keys apart without telling them."""
    key = settings.SECRET_KEY.encode()
    return hmac.new(key, b"readiness back-up", hashlib.sha256).hexdigest()[:16]


def signing_key_file() -> Path | None:
    """The file of the key that signs checkpoints; None where a variable holds the key itself.

    It is made with the first checkpoint: it may not be there yet.
    """
    if named := os.environ.get("READINESS_SIGNING_KEY_FILE"):
        return Path(named)
    return None if settings.READINESS_SIGNING_KEY else signing.key_file()


def signing_key_id() -> str:
    """The name of the key that signs checkpoints here; "" where there is none yet."""
    path = signing_key_file()
    if path is not None and not path.exists():
        return ""
    return signing.id_of(signing.public_of(signing.private_key()))
