"""Examples are not timed: two busy cores must never fail a test."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
