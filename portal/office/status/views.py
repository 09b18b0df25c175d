"""How the portal itself is doing: background work, back-up, disk, versions. For all staff."""

from collections.abc import Iterator

from django.shortcuts import render
from django.template.defaultfilters import filesizeformat

from portal.office.status.not_through import not_through
from portal.requests.access import applicator_required
from portal.templatetags.dates import full_date
from readiness.evidence import checkpoints
from readiness.operations.upkeep import Queue, Upkeep, look, versions
from readiness.wording import office_status, proxy

AT_MOST = 50
"""E-mails and papers of each kind that are listed."""


@applicator_required
def status(request):
    """What waits and since when, what was given up, and what keeps the portal going."""
    upkeep = look()
    context = {
        "upkeep": upkeep,
        "queues": [
            (office_status.heading(queue.kind), queue, *words_of(queue)) for queue in upkeep.queues
        ],
        "troubles": list(troubles(upkeep)),
        "not_through": not_through(AT_MOST),
        "checkpoint": checkpoints.newest(),
        "versions": versions(),
    }
    return render(request, "portal/office/status/status.html", context)


def words_of(queue: Queue) -> tuple[str, str]:
    """What is to do and what was given up, "" for nothing: "2 e-mails to send", "1 could not be
    sent". Apart, as "the oldest since" is about the first only.
    """
    kind = queue.kind
    return office_status.waiting(kind, queue.waiting), office_status.given_up(kind, queue.failed)


def troubles(upkeep: Upkeep) -> Iterator[str]:
    """A sentence for each thing about the portal itself that somebody has to look at."""
    if upkeep.is_worker_missed:
        yield office_status.worker_stopped()
    for queue in upkeep.queues:
        if queue.is_late and not (queue.stumbles or upkeep.is_worker_missed):
            yield office_status.late(queue.kind, queue.waiting)
    if upkeep.disk is not None and upkeep.disk.is_low:
        yield office_status.disk_low(filesizeformat(upkeep.disk.free_bytes))
    if upkeep.checkpoint and upkeep.checkpoint.details:
        yield office_status.no_checkpoint(upkeep.checkpoint.details["trouble"])
    if upkeep.is_proxy_unset:
        yield proxy.unset()
    if upkeep.is_key_new:
        yield office_status.key_changed(full_date(upkeep.new_key.at))
    if upkeep.is_backup_late:
        yield office_status.backup_late(upkeep.backup is not None)
    if upkeep.backup and (missing := upkeep.backup.details.get("missing")):
        yield office_status.backup_lacks(missing)
