"""Exports of earlier versions: each step brings the rows of one format to the next.

A format gets a number when a column that an export holds goes, comes or changes its meaning; its
step is written with the migration that does the same to the database.
"""

from collections.abc import Callable

from readiness.handover import FORMAT, FORMATS

Rows = dict[str, list[dict]]


def as_today(rows: Rows, made_as: str) -> Rows:
    """The rows of an export of the format `made_as`, as an export of today has them."""
    for name in FORMATS[FORMATS.index(made_as) :]:
        if name != FORMAT:
            STEPS[name](rows)
    return rows


def _states_of_errands(rows: Rows) -> None:
    """Version 0.1 kept no state of an e-mail, and a failed paper had no time."""
    for message in rows["messages"]:
        message["state"] = "sent" if message["sent_at"] else "dropped"
    for paper in rows["papers"]:
        if paper["state"] == "failed":
            paper["given_up_at"] = paper["started_at"] or paper["requested_at"]


def _no_digests_of_rows(rows: Rows) -> None:
    """Version 0.2 held rows by no digests and had texts in the entries: nothing to change."""


STEPS: dict[str, Callable[[Rows], None]] = {
    "site-export-1": _states_of_errands,
    "site-export-2": _no_digests_of_rows,
}
