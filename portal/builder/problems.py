"""Reasons and refusals as sentences, each with a link to the thing to do."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from django.contrib import messages
from django.urls import reverse
from django.utils.translation import gettext as _

from portal.accounts.proof import own_code_for
from portal.steps import leads_to
from readiness.actions.errors import About, Problem, Refused
from readiness.models import Site
from readiness.rules.site.assessment import Reason
from readiness.wording.builder.reasons import BUILDER, to_item


def link_reasons(site: Site, reasons: Iterable[Reason], may_act: bool) -> list[Problem]:
    """Each reason of an assessment with what its reader can do about it."""
    return [_linked_reason(site, reason, may_act) for reason in reasons]


def _linked_reason(site: Site, reason: Reason, may_act: bool) -> Problem:
    sentence, step = BUILDER.sentence(reason), BUILDER.step(reason)
    if step is None or (step.acts and not may_act):
        return Problem(sentence)
    return Problem(sentence, url=leads_to(step, site), label=step.label)


def link_problems(site: Site, refused: Refused) -> list[Problem]:
    """Each problem of a refused action, linked to the thing that it is about."""
    return [_linked(site, problem) for problem in refused.problems]


def _linked(site: Site, problem: Problem) -> Problem:
    url, label = _about(site, problem)
    return replace(problem, url=url, label=label)


def _about(site: Site, problem: Problem) -> tuple[str, str]:
    page = reverse("builder:site", args=[site.pk])
    if problem.about is About.ITEM and problem.about_id:
        return f"{page}{to_item(problem.about_id)}", _("See the item")
    if problem.about is About.RUN:
        return f"#wall-{problem.about_id}", _("Go to the wall")
    if problem.about is About.REFERRAL:
        return f"{page}#termites", _("See the site")
    if problem.about is About.ACCOUNT:
        return reverse("accounts:profile"), _("Your details")
    if problem.about is About.PROOF:
        return own_code_for(reverse("builder:confirm", args=[site.pk])), _("Show that it is you")
    if problem.about in (About.SITE, About.REPORT):
        return page, _("See the site")
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
