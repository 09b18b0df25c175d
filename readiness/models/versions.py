"""Whether program and database are just being brought to one version."""

from contextvars import ContextVar

migrating: ContextVar[bool] = ContextVar("migrating", default=False)
"""Set while `migrate` runs: only then may the database be of another version than the program."""
