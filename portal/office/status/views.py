"""How the portal itself is doing: background work, back-up, disk, versions. For all staff."""

from collections.abc import Iterator

from django.shortcuts import render
from django.template.defaultfilters import filesizeformat

from portal.office.status.not_through import not_through
from portal.requests.access import applicator_required
from readiness.operations.upkeep import Queue, Upkeep, look, versions
from readiness.rules.words import counted

AT_MOST = 50
"""E-mails and papers of each kind that are listed."""

NAMES = {
    "emails": ("E-mails", "e-mail", "to send", "could not be sent"),
    "papers": ("Papers", "paper", "to make", "could not be made"),
    "photos": ("Photos", "photo", "to make smaller sizes of", "have no smaller sizes"),
    "moves": ("Photo store", "photo", "on one machine only, to move to the store", ""),
}
"""Of each queue: its heading, what is counted, what waits to be done, and what was given up."""


@applicator_required
def status(request):
    """What waits and since when, what was given up, and what keeps the portal going."""
    upkeep = look()
    context = {
        "upkeep": upkeep,
        "queues": [(NAMES[queue.kind][0], queue, *words_of(queue)) for queue in upkeep.queues],
        "troubles": list(troubles(upkeep)),
        "not_through": not_through(AT_MOST),
        "versions": versions(),
    }
    return render(request, "portal/office/status/status.html", context)


def words_of(queue: Queue) -> tuple[str, str]:
    """What is to do and what was given up, "" for nothing: "2 e-mails to send", "1 could not be
    sent". Apart, as "the oldest since" is about the first only.
    """
    _, one, to_do, given_up = NAMES[queue.kind]
    waits = f"{counted(queue.waiting, one)} {to_do}" if queue.waiting else ""
    return waits, f"{queue.failed} {given_up}" if queue.failed else ""


def troubles(upkeep: Upkeep) -> Iterator[str]:
    """A sentence for each thing about the portal itself that somebody has to look at."""
    if upkeep.is_worker_missed:
        yield (
            "Papers and e-mails are not going out: the background worker has stopped. "
            "Whoever runs the portal has to start it again."
        )
    for queue in upkeep.queues:
        _, one, to_do, _ = NAMES[queue.kind]
        if queue.is_late and not (queue.stumbles or upkeep.is_worker_missed):
            yield f"{counted(queue.waiting, one)} {to_do}: the oldest has waited over 10 minutes."
    if upkeep.disk is not None and upkeep.disk.is_low:
        left = filesizeformat(upkeep.disk.free_bytes)
        yield f"The disk is nearly full: {left} left. Photos will be refused when it is full."
    if upkeep.is_backup_late:
        yield "No back-up in the last two days." if upkeep.backup else "No back-up has been made."
    if upkeep.backup and (missing := upkeep.backup.details.get("missing")):
        files = counted(missing, "photo or paper", "photos or papers")
        yield f"The last back-up lacks {files} that the portal’s store no longer has whole."
