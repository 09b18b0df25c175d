"""The text that a site is found by, and PostgreSQL's index over it.

Address, job number and builder of a site stand in one column, folded the same way on every
database: SQLite's own LIKE knows capitals of English letters only. One column means one place to
look for each word, and one index.
"""

import logging
import unicodedata

from django.db import DatabaseError, connections, models, transaction
from django.db.models import F, Value
from django.db.models.functions import Concat, Left, StrIndex

log = logging.getLogger(__name__)

BEFORE_BUILDER = "\t"
"""Stands once in the column, before the builder's name: folded words hold no tab."""
COLUMN = "search_text"
INDEX = "site_search_trigrams"


def folded(text: str) -> str:
    """Text as it is compared: capitals and composed accents made alike, single spaces.

    An accent stays one: "Muller" does not find "Müller".
    """
    plain = unicodedata.normalize("NFC", text.replace("\0", " "))  # PostgreSQL takes no NUL
    return " ".join(unicodedata.normalize("NFC", plain.casefold()).split())


def search_text(address: str, job_number: str, builder: str) -> str:
    """The column: no word, having no space in it, is found across two of the three."""
    return f"{folded(address)}\n{folded(job_number)}{BEFORE_BUILDER}{folded(builder)}"


def words_of(text: str) -> list[str]:
    """The words to look for, each once."""
    return list(dict.fromkeys(folded(text).split()))


class SearchText(models.TextField):
    """Filled from its site whenever that is inserted or saved. To migrations a plain text."""

    def pre_save(self, model_instance, add):
        text = search_text(
            model_instance.address, model_instance.job_number, model_instance.builder.name
        )
        setattr(model_instance, self.attname, text)
        return text

    def deconstruct(self):
        name, _, args, kwargs = super().deconstruct()
        return name, "django.db.models.TextField", args, kwargs


def renamed(name: str) -> Concat:
    """The column with another builder's name in it, for an update."""
    upto = StrIndex(F(COLUMN), Value(BEFORE_BUILDER))
    return Concat(Left(COLUMN, upto), Value(folded(name)), output_field=models.TextField())


def install(using: str = "default", **_) -> None:
    """Make the index, where PostgreSQL has or gets its extension; runs after every migration.

    Without it a search reads every site, which the check `portal.W005` says.
    """
    connection = connections[using]
    if connection.vendor != "postgresql" or not _has_column(connection):
        return
    try:
        with transaction.atomic(using), connection.cursor() as cursor:
            cursor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
            cursor.execute(
                f"CREATE INDEX IF NOT EXISTS {INDEX} ON readiness_site "
                f"USING gin ({COLUMN} gin_trgm_ops)"
            )
    except DatabaseError as error:
        log.warning("Searches go without an index: %s", str(error).strip())


def _has_column(connection) -> bool:
    if "readiness_site" not in connection.introspection.table_names():
        return False
    with connection.cursor() as cursor:
        columns = connection.introspection.get_table_description(cursor, "readiness_site")
    return COLUMN in {column.name for column in columns}


def is_indexed(connection) -> bool:
    """Whether a search finds its sites by index; True on a database that is to go without."""
    if connection.vendor != "postgresql" or not _has_column(connection):
        return True
    with connection.cursor() as cursor:
        cursor.execute("SELECT to_regclass(%s) IS NOT NULL", [INDEX])
        return cursor.fetchone()[0]
