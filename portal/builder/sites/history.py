"""A site's Record as the builder reads it: everything but the work on unissued drafts."""

from readiness.models import RecordEntry, Site
from readiness.models.verbs import Verb

OF_DRAFTS = (
    Verb.REPORT_STARTED,
    Verb.REPORT_CHANGED,
    Verb.REPORT_DROPPED,
    Verb.RUN_CHECKED,
    Verb.RUN_CHECK_NOTED,
    Verb.RUN_UNCHECKED,
    Verb.ITEM_ADDED,
    Verb.ITEM_CHANGED,
    Verb.ITEM_REMOVED,
    Verb.PHOTO_ADDED,
    Verb.PHOTO_ATTACHED,
    Verb.PHOTO_MARKED,
    Verb.PHOTO_MEASURED,
    Verb.LEVELS_CHANGED,
    Verb.WALLS_COPIED,
    Verb.MESSAGE_SENT,
    Verb.PAPER_FAILED,
)
"""Verbs that the builder's history leaves out: the applicator's own work before a report."""


def history_of(site: Site):
    """The site's entries that its builder may read, newest first."""
    entries = RecordEntry.objects.filter(site=site).exclude(verb__in=OF_DRAFTS)
    return entries.select_related("actor").prefetch_related("said").order_by("-sequence")
