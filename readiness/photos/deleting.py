"""Deleting an original's files with nothing locked: who does it says so first, in a row.

The same bytes may be sent again meanwhile. Then they are refused for the moment (`intake.keep`), as
nobody could say whether the files that are there now are about to go.
"""

from datetime import timedelta

from django.db import transaction

from readiness import clock
from readiness.models import LastDone, Original
from readiness.photos import sizes, store

LEASE = timedelta(minutes=10)
"""Longer than the store may be silent at each file; whoever said it earlier than that has died."""


def delete_files(digest: str) -> bool:
    """Delete the files of a deleted original, its own last; False where that is not to be done.

    It was sent again since, or another process is at it. Raises ``OSError`` where the store does
    not answer: the original's own file is then still there.
    """
    if not _claim(digest):
        return False
    try:
        original = Original(digest=digest)
        sizes.drop_sizes(original)
        store.delete(original.storage_name)
    finally:
        LastDone.objects.filter(name=_name(digest)).delete()
    return True


def is_under_way(digest: str) -> bool:
    """Whether the files are being deleted. Ask with the original's row locked."""
    return LastDone.objects.filter(name=_name(digest), at__gt=clock.now() - LEASE).exists()


@transaction.atomic
def _claim(digest: str) -> bool:
    original = Original.objects.select_for_update().get(pk=digest)
    if not original.is_deleted or is_under_way(digest):
        return False
    LastDone.note(_name(digest))
    return True


def _name(digest: str) -> str:
    return f"deleting/{digest}"
