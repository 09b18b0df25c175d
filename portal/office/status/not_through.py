"""What failed in the background: e-mails that did not go, papers that could not be made."""

from dataclasses import dataclass

from django.db.models import F

from readiness.models import Message, Paper

GIVEN_UP_FIRST = F("given_up_at").asc(nulls_last=True)


@dataclass(frozen=True)
class NotThrough:
    """The first of each; those given up stand before those that are tried again."""

    emails: list[Message]
    papers: list[Paper]
    more_emails: bool
    more_papers: bool

    def __bool__(self) -> bool:
        return bool(self.emails or self.papers)


def not_through(at_most: int, **of) -> NotThrough:
    """Of the whole business, or those that match `of`, such as `site=`."""
    emails = Message.objects.troubled().filter(**of)
    emails = emails.select_related("site", "to", "invitation").order_by(GIVEN_UP_FIRST, "queued_at")
    papers = Paper.objects.in_force().troubled().filter(**of)
    papers = papers.select_related("site").order_by(GIVEN_UP_FIRST, "requested_at")
    found, made = list(emails[: at_most + 1]), list(papers[: at_most + 1])
    return NotThrough(found[:at_most], made[:at_most], len(found) > at_most, len(made) > at_most)
