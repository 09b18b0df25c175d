"""What every paper of an issued report has in common, ready to be laid out."""

from datetime import datetime

from readiness.papers import data, wording
from readiness.papers.pdf import Draft
from readiness.papers.views import Snapshot


def report_draft(
    kind: str,
    snapshot: Snapshot,
    name: str,
    context: dict,
    *,
    description: str,
    dated: datetime | None = None,
    **content,
) -> Draft:
    """The draft of a report's paper: its template, author and size follow from the snapshot.

    It is dated as the report is, unless something later made it. `content` is what the paper prints
    of its own, for the attached data.
    """
    issued = snapshot.content
    return Draft(
        template=f"papers/{kind}.html",
        title=f"{name}, {snapshot.address}",
        dated=dated or wording.moment(issued["issued_at"]),
        context=context,
        data=data.of_report(kind, snapshot, context, **content),
        author=issued["business"]["name"],
        description=description,
        paper_size=issued["business"]["paper_size"],
        album=snapshot.album,
    )
