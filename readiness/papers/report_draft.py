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
    edition: int,
    **more,
) -> Draft:
    """The draft of a report's paper: its template, data, author and size follow from the snapshot.

    `more` goes into the attached data, such as the trade of a fix list.
    """
    content = snapshot.content
    return Draft(
        template=f"papers/{kind}.html",
        title=f"{name}, {snapshot.address}",
        dated=wording.moment(content["issued_at"]),
        context=context,
        data=data.of_report(kind, snapshot, edition=edition, **more),
        author=content["business"]["name"],
        description=description,
        paper_size=content["business"]["paper_size"],
        album=snapshot.album,
    )
