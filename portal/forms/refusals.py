"""What an action refused, said on the screen: every sentence, linked to its thing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from django.contrib import messages
from django.urls import reverse
from django.utils.html import format_html

from readiness.actions.errors import About, Problem, Refused
from readiness.models import Site, SiteReport


def linked(
    problems: Iterable[Problem], site: Site, draft: SiteReport | None = None
) -> list[Problem]:
    """The problems with their addresses. With a draft, walls lead to its page."""
    return [replace(problem, url=_url(problem, site, draft)) for problem in problems]


def _url(problem: Problem, site: Site, draft: SiteReport | None) -> str:
    if problem.about is About.ITEM and problem.about_id:
        return reverse("office:item", args=[problem.about_id])
    if problem.about is About.REFERRAL:
        return reverse("office:referral", args=[problem.about_id])
    if problem.about is About.ACCOUNT:
        return reverse("accounts:profile")
    if problem.about is About.REPORT and problem.about_id:
        return reverse("office:report_head", args=[problem.about_id])
    if problem.about is About.RUN:
        page = (
            reverse("office:report", args=[draft.pk])
            if draft
            else reverse("office:site", args=[site.pk])
        )
        return f"{page}#wall-{problem.about_id}"
    if problem.about is About.SITE:
        return reverse("office:walls" if draft else "office:site", args=[site.pk])
    return ""


def say(request, refused: Refused, site: Site, draft: SiteReport | None = None) -> None:
    """Put every reason of a refusal above the next page."""
    for problem in linked(refused.problems, site, draft):
        messages.error(request, _sentence(problem))


def add_to_form(
    form, refused: Refused, site: Site | None = None, draft: SiteReport | None = None
) -> None:
    """Give a form every reason of a refusal, so that it comes back with what was typed."""
    for problem in linked(refused.problems, site, draft) if site else refused.problems:
        form.add_error(None, _sentence(problem))


def _sentence(problem: Problem) -> str:
    if not problem.url:
        return problem.sentence
    return format_html('<a href="{}">{}</a>', problem.url, problem.sentence)
