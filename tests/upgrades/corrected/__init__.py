"""The portal's own migrations, and one more after them."""

from readiness import migrations

__path__ = [*__path__, *migrations.__path__]
