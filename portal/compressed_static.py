"""Styles and scripts compressed for the demo, which has no `collectstatic` before it.

An installation has them compressed by WhiteNoise's storage. Uncompressed they are four fifths of
what a phone loads on its first visit.
"""

import shutil
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from whitenoise.compress import Compressor


def serve_compressed(folder: Path) -> None:
    """Gather all static files in `folder`, and have them served from there.

    To be called before the application is made: WhiteNoise looks for its files then.
    """
    gather(folder)
    settings.STATIC_ROOT = str(folder)
    settings.WHITENOISE_USE_FINDERS = False


def gather(folder: Path) -> None:
    """Copy what the finders find, the first of a name, and compress what gets smaller by it."""
    left = settings.WHITENOISE_SKIP_COMPRESS_EXTENSIONS
    compressor = Compressor(extensions=left, use_brotli=False, quiet=True)  # Brotli takes 15 s
    done = set()
    for finder in get_finders():
        for name, storage in finder.list([]):
            target = folder / getattr(storage, "prefix", "") / name
            if target not in done:
                done.add(target)
                _keep(Path(storage.path(name)), target, compressor)


def _keep(source: Path, target: Path, compressor: Compressor) -> None:
    as_it_was = target.exists() and target.stat().st_mtime_ns == source.stat().st_mtime_ns
    if as_it_was and target.stat().st_size == source.stat().st_size:
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy2(source, target)
    if compressor.should_compress(target.name):
        compressor.compress(str(target))
