"""Telling a full disk from other trouble: waiting does not help, somebody has to make room."""

import errno

FULL = {errno.ENOSPC, errno.EDQUOT}
# What SQLite and PostgreSQL (SQLSTATE 53100) say of theirs.
FULL_WORDS = ("database or disk is full", "no space left on device")
DISK_FULL_STATE = "53100"


def is_full(error: BaseException | None) -> bool:
    """Is a full disk (or a used-up quota) what went wrong, or what that came from?"""
    seen = 0
    while error is not None and seen < 20:
        if isinstance(error, OSError) and error.errno in FULL:
            return True
        if getattr(error, "sqlstate", None) == DISK_FULL_STATE:
            return True
        words = str(error).lower()
        if any(full in words for full in FULL_WORDS):
            return True
        error, seen = error.__cause__ or error.__context__, seen + 1
    return False
