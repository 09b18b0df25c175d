"""Settings of the test run: the embedded mode, in a folder that goes away afterwards.

`pytest` needs no environment variables. With DATABASE_URL set the tests use that server.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

_folder = Path(tempfile.mkdtemp(prefix="readiness-tests-"))
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["READINESS_DEMO"] = "1"
os.environ["READINESS_DATA"] = str(_folder)
os.environ["READINESS_TASKS"] = "immediate"
os.environ.setdefault("READINESS_REQUIRE_SECOND_FACTOR", "0")

from portal.settings import *  # noqa: E402, F403
from portal.settings import DATABASES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
WHITENOISE_AUTOREFRESH = True  # else each test's client reads over all static files first
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A real file, as in use: threads of a live server get connections and locks of their own.
    DATABASES["default"]["TEST"] = {"NAME": _folder / "test.sqlite3"}
    # It is thrown away: no need to wait for the disk.
    DATABASES["default"]["OPTIONS"]["init_command"] += "PRAGMA synchronous=OFF;"
