"""What every paper of an issued report has in common, ready to be laid out."""

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
    **content,
) -> Draft:
    """The draft of a report's paper: its template, author and size follow from the snapshot.

    `content` is what the paper prints of its own, for the attached data.
    """
    issued = snapshot.content
    return Draft(
        template=f"papers/{kind}.html",
        title=f"{name}, {snapshot.address}",
        dated=wording.moment(issued["issued_at"]),
        context=context,
        data=data.of_report(kind, snapshot, context, **content),
        author=issued["business"]["name"],
        description=description,
        paper_size=issued["business"]["paper_size"],
        album=snapshot.album,
    )
