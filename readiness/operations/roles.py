"""What the portal's own role may do in PostgreSQL past the triggers, which is best nothing.

The role that owns the tables can switch triggers off. So an owner's role migrates, and the portal
works as another one, which may only read and write rows (README, "Two roles in PostgreSQL").
"""

from dataclasses import dataclass

from django.db import connections

from readiness.models import freeze
from readiness.operations import Trouble

ASK = """
SELECT current_user, r.rolsuper, count(c.oid) > 0,
    COALESCE(bool_or(
        pg_has_role(r.oid, c.relowner, 'MEMBER') OR pg_has_role(r.oid, n.nspowner, 'MEMBER')
    ), FALSE),
    COALESCE(bool_or(
        has_table_privilege(c.oid, 'TRUNCATE') OR has_table_privilege(c.oid, 'TRIGGER')
        OR has_schema_privilege(n.oid, 'CREATE') OR EXISTS (
            SELECT 1 FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid
            WHERE t.tgrelid = c.oid AND NOT t.tgisinternal
            AND pg_has_role(r.oid, p.proowner, 'MEMBER')
        )
    ), FALSE)
FROM pg_roles r
LEFT JOIN pg_class c ON c.relkind = 'r' AND c.relname = ANY(%s) AND pg_table_is_visible(c.oid)
LEFT JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE r.rolname = current_user
GROUP BY r.oid, r.rolsuper
"""


@dataclass(frozen=True)
class Role:
    """The role that the portal works as, and what it may do to the tables.

    `may_more` is any right that the portal does not need and that leads past the triggers: to
    empty a table, to add triggers, to change their functions or what these look up.
    """

    name: str
    is_superuser: bool
    has_tables: bool
    is_owner: bool
    may_more: bool

    @property
    def is_bound(self) -> bool:
        """Whether the triggers hold for it whatever it does."""
        return not (self.is_superuser or self.is_owner or self.may_more)

    @property
    def may_migrate(self) -> bool:
        """Tables that are not there yet, it may well make."""
        return self.is_superuser or self.is_owner or not self.has_tables


def role(using: str = "default") -> Role | None:
    """The role of our connection; None on a database without roles."""
    connection = connections[using]
    if connection.vendor != "postgresql":
        return None
    with connection.cursor() as cursor:
        cursor.execute(ASK, [list(freeze.TABLES.values())])
        return Role(*cursor.fetchone())


def refuse_another(using: str = "default") -> None:
    """Raises ``Trouble`` for a role that can't change the tables, before it tries."""
    ours = role(using)
    if ours and not ours.may_migrate:
        raise Trouble(
            f"{ours.name} does not own the tables of the database. Name the role that does, for "
            "this one command, in the database's address."
        )
