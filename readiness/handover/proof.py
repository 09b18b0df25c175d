"""The checkpoint that goes along with an export, with the proof of the site's last entry."""

from readiness import clock
from readiness.evidence import checkpoints
from readiness.models import Site
from readiness.papers.proof import Proof, head_of


def of(site: Site) -> Proof | None:
    """A checkpoint over all of the site's entries so far; its data is as papers have it attached.

    None where the entries do not give the root any more that was signed before. Raises BadKey.
    """
    try:
        checkpoint = checkpoints.covering(site, clock.now())
        head = head_of(site, checkpoint) if checkpoint else None
    except checkpoints.HistoryChanged:
        return None
    return Proof(checkpoints.note_of(checkpoint), head, site.zone) if checkpoint and head else None
