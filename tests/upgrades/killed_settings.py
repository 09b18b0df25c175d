"""Settings of a `migrate` that dies half-way, on the database that UPGRADE_DATABASE names."""

import os

from tests.settings import *  # noqa: F403
from tests.settings import DATABASES

DATABASES["default"]["NAME"] = os.environ["UPGRADE_DATABASE"]
MIGRATION_MODULES = {"readiness": "tests.upgrades.killed"}
