"""Ids that a page carries, so that the same thing sent twice is one thing."""

import uuid


def as_uuid(text) -> uuid.UUID | None:
    """The UUID that a text spells, or None."""
    try:
        return uuid.UUID(str(text))
    except ValueError:
        return None


def client_id(text) -> uuid.UUID:
    """The id that a page was given, else a new one."""
    return as_uuid(text) or uuid.uuid4()
