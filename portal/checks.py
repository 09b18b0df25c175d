"""System checks: what this machine lacks, and how to get it.

`manage.py check` runs most of them, `--deploy` adds what only production needs, and
`--database default` adds those that read the database.
"""

import ctypes
import importlib.util
import os
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import Error, Warning, register
from django.core.files.storage import storages

from readiness.evidence import signing, timestamps

LIBRARIES = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz.so.0": "libharfbuzz0b",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
"""Shared libraries that WeasyPrint loads, and the Debian package that has each."""

FONT_FOLDERS = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.fonts", "~/.local/share/fonts")


def is_loadable(library: str) -> bool:
    """Whether the system's loader finds a shared library."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def has_font(name: str) -> bool:
    """Whether a font file of such a name, a pattern without its ending, is installed."""
    return any(
        next(Path(folder).expanduser().rglob(f"{name}.{ending}"), None)
        for folder in FONT_FOLDERS
        for ending in ("ttf", "otf", "ttc")
    )


@register("papers")
def check_paper_libraries(app_configs, **kwargs):
    """Papers need Pango and HarfBuzz."""
    missing = [package for name, package in LIBRARIES.items() if not is_loadable(name)]
    if not missing:
        return []
    return [
        Error(
            "No paper can be made: WeasyPrint needs libraries that are not installed.",
            hint=f"On Debian or Ubuntu: apt install {' '.join(missing)}",
            id="portal.E001",
        )
    ]


@register("papers")
def check_fonts(app_configs, **kwargs):
    """Papers need at least one font, or every letter is a box."""
    if has_font("*"):
        return []
    return [
        Error(
            "No fonts are installed: papers would have no readable letters.",
            hint="On Debian or Ubuntu: apt install fonts-dejavu-core",
            id="portal.E002",
        )
    ]


@register("papers")
def check_paper_font(app_configs, **kwargs):
    """Papers are laid out for the Inter family: in another, lines and pages break elsewhere."""
    if has_font("Inter*"):
        return []
    return [
        Warning(
            "Papers are laid out for the Inter font, and it is not installed: another stands in.",
            hint="On Debian or Ubuntu: apt install fonts-inter",
            id="portal.W003",
        )
    ]


@register("photos")
def check_heic(app_configs, **kwargs):
    """Phones send HEIC photos."""
    if importlib.util.find_spec("pillow_heif"):
        return []
    return [
        Error(
            "HEIC photos, as many phones take them, can not be read.",
            hint="pip install pillow-heif",
            id="portal.E003",
        )
    ]


@register("storage")
def check_data_folder(app_configs, **kwargs):
    """Everything embedded is stored in READINESS_DATA."""
    folder = Path(settings.READINESS_DATA)
    nearest = next(path for path in (folder, *folder.parents) if path.exists())
    if nearest.is_dir() and os.access(nearest, os.W_OK | os.X_OK):
        return []
    return [
        Error(
            f"Nothing can be stored in {folder}.",
            hint="Make the folder, let the portal's user write in it, or set READINESS_DATA.",
            id="portal.E004",
        )
    ]


@register("storage")
def check_object_storage(app_configs, **kwargs):
    """READINESS_S3_BUCKET needs extra packages."""
    if not _uses_bucket() or all(map(importlib.util.find_spec, ("storages", "boto3"))):
        return []
    return [
        Error(
            "READINESS_S3_BUCKET is set, but the packages for it are not installed.",
            hint="pip install 'site-readiness[s3]', in this folder: pip install -e '.[s3]'",
            id="portal.E005",
        )
    ]


@register("storage", deploy=True)
def check_bucket_answers(app_configs, **kwargs):
    """A wrong name, address or key is better found now than with the first photo."""
    if not _uses_bucket() or check_object_storage(app_configs):
        return []
    try:
        storages["photos"].listdir("originals")
    except OSError as error:
        return [
            Error(
                f"Photos can't be kept in the bucket. {error}",
                hint="Look at READINESS_S3_BUCKET, READINESS_S3_ENDPOINT and the credentials.",
                id="portal.E007",
            )
        ]
    return []


def _uses_bucket() -> bool:
    return "bucket_name" in settings.STORAGES["photos"].get("OPTIONS", {})


@register("evidence")
def check_signing_key(app_configs, **kwargs):
    """Without its key the portal signs no checkpoint of the Record."""
    if not (settings.READINESS_SIGNING_KEY or signing.key_file().exists()):
        return []  # made with the first checkpoint
    try:
        signing.private_key()
    except signing.BadKey as error:
        return [
            Error(
                f"No checkpoint of the Record can be signed: {error}",
                hint="openssl genpkey -algorithm ed25519 makes one.",
                id="portal.E020",
            )
        ]
    return []


@register("evidence")
def check_timestamp_url(app_configs, **kwargs):
    """A mistyped address would be asked in vain for ever."""
    url = settings.READINESS_TIMESTAMP_URL
    if not url or urlsplit(url).scheme in timestamps.SCHEMES:
        return []
    return [
        Error(
            f"READINESS_TIMESTAMP_URL is no address of the web: {url[:80]}",
            hint="Such as https://timestamp.example/",
            id="portal.E021",
        )
    ]


@register("evidence", deploy=True)
def check_one_signing_key(app_configs, **kwargs):
    """A bucket is for several machines: a file of each one's own would make several keys."""
    if settings.READINESS_SIGNING_KEY or not _uses_bucket():
        return []
    return [
        Warning(
            "Each machine signs checkpoints of the Record with a key of its own.",
            hint="Set READINESS_SIGNING_KEY (or _FILE), the same on every machine.",
            id="portal.W020",
        )
    ]


@register("static", deploy=True)
def check_collected_files(app_configs, **kwargs):
    """Production serves style sheets and scripts from STATIC_ROOT."""
    root = settings.STATIC_ROOT
    if root is None or (Path(root) / "staticfiles.json").exists():
        return []
    return [
        Error(
            f"Style sheets and scripts have not been collected into {root}.",
            hint="python manage.py collectstatic --noinput",
            id="portal.E006",
        )
    ]
