"""Reasons and refusals as sentences, each with a link to the thing to do."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.contrib import messages
from django.urls import reverse

from portal.builder.sentences import to_builder
from readiness.actions.errors import Problem, Refused
from readiness.models import Site
from readiness.rules.site.assessment import TURNED_AWAY, Reason


@dataclass(frozen=True)
class Linked:
    """A sentence and where to go for it; `url` is empty where there is nothing to do."""

    sentence: str
    url: str = ""
    label: str = ""


def to_item(item_id) -> str:
    """Behind the address of a site's page: its item, which a long list has to show then."""
    return f"?item={item_id}#item-{item_id}"


def link_reasons(site: Site, reasons: Iterable[Reason]) -> list[Linked]:
    """Each reason of an assessment with what the builder can do about it."""
    return [Linked(to_builder(reason.sentence), *_where_to(site, reason)) for reason in reasons]


def _where_to(site: Site, reason: Reason) -> tuple[str, str]:
    page = reverse("builder:site", args=[site.pk])
    if reason.code in ("item_to_fix", "item_sent_back"):
        return reverse("builder:say_fixed", args=[reason.item_id]), "Show it fixed"
    if reason.item_id:
        return f"{page}{to_item(reason.item_id)}", "See the item"
    if reason.code.startswith("confirmation_") or reason.code in UNCONFIRMED:
        return reverse("builder:confirm", args=[site.pk]), "Confirm readiness"
    if reason.code.startswith("date_"):
        return reverse("builder:book", args=[site.pk]) + "#ask", "Ask for another day"
    if reason.run_id:
        return f"{page}#wall-{reason.run_id}", "See the wall"
    return "", ""


UNCONFIRMED = ("not_confirmed", "run_unticked", TURNED_AWAY)


def link_problems(site: Site, refused: Refused) -> list[Linked]:
    """Each problem of a refused action, linked to the thing that it is about."""
    return [
        Linked(to_builder(problem.sentence), *_about(site, problem)) for problem in refused.problems
    ]


def _about(site: Site, problem: Problem) -> tuple[str, str]:
    page = reverse("builder:site", args=[site.pk])
    if problem.about == "item" and problem.about_id:
        return f"{page}{to_item(problem.about_id)}", "See the item"
    if problem.about == "run":
        return f"#wall-{problem.about_id}", "Go to the wall"
    if problem.about == "account":
        return reverse("accounts:profile"), "Your details"
    if problem.about in ("site", "report"):
        return page, "See the site"
    return "", ""


@contextmanager
def saying(request, done: str) -> Iterator[None]:
    """Show on the page that comes next that it is done, or the sentences of the refusal."""
    try:
        yield
    except Refused as refused:
        for problem in refused.problems:
            messages.error(request, problem.sentence)
    else:
        messages.success(request, done)
