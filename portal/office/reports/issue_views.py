"""Issuing a report: what is still missing, who is told and what they get; then its papers."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from portal.forms import refusals
from portal.office.reports.issue_forms import IssueForm
from portal.office.reports.views import get_report
from portal.papers.lists import refresh_pause
from portal.requests.access import applicator_required
from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts, due_dates, issuing
from readiness.facts import SiteState
from readiness.messages import letters, telling
from readiness.messages.telling import Why
from readiness.models import Message, Paper
from readiness.wording.due import things


@applicator_required
def issue(request, pk):
    """What is still to do before issuing, linked; then whom to tell, and issue it."""
    report = get_report(request, pk)
    if not report.is_draft:
        return redirect("office:issued", pk)
    problems = issuing.problems_before_issue(report)
    form = IssueForm(request.POST or None, site=report.site)
    if request.method == "POST" and form.is_valid():
        try:
            issuing.issue_report(request.user, report, notify=form.cleaned_data["notify"])
        except Refused as refused:
            problems = list(refused.problems)
        else:
            messages.success(request, _("Report issued."))
            return redirect("office:issued", pk)
    context = {
        "report": report,
        "site": report.site,
        "form": form,
        "problems": refusals.linked(problems, report.site, report),
        "problem_count": things(len(problems)),
        "passed_count": len(due_dates.passed(report)),
        "not_told": not_told_words(report.site, form.users_to_choose),
        "letter": letters.report_letter(report, report.site, number=next_number(report)),
        "items": report.items.select_related("wall_run").prefetch_related("photos"),
    }
    return render(request, "portal/office/reports/issue.html", context)


@applicator_required
@require_POST
def renew_dates(request, pk):
    """Work out the due dates anew that have passed while the draft lay."""
    report = get_report(request, pk)
    try:
        renewed = drafts.renew_due_dates(request.user, report)
    except Refused as refused:
        refusals.say(request, refused, report.site)
    else:
        said = ngettext(
            "New due date for %(count)d item.", "New due dates for %(count)d items.", len(renewed)
        )
        messages.success(request, said % {"count": len(renewed)})
    return redirect("office:issue", pk)


WHY_NOT = {
    Why.NOT_TICKED: later("not ticked"),
    Why.SWITCHED_OFF: later("switched off"),
    Why.OTHER_SITES: later("sees other sites only"),
    Why.INVITED: later("invited, not joined yet"),
    Why.LINK_EXPIRED: later("invited, link expired: invite again"),
    Why.JOINED_LATER: later("joined after the report was issued"),
}


def not_told_words(site, told, issued_at=None) -> list[str]:
    """Who gets no e-mail and why: "Robin Reed: switched off"."""
    found = telling.not_told(site, told, issued_at=issued_at)
    return [f"{one.who}: {_(WHY_NOT[one.why])}" for one in found]


def next_number(report) -> int:
    """The number that the report will get."""
    last = report.site.reports.issued().order_by("-number").first()
    return last.number + 1 if last else 1


@applicator_required
def issued(request, pk):
    """The report is out: its papers as they are made, and the e-mails that wait for them."""
    report = get_report(request, pk)
    if report.is_draft:
        return redirect("office:issue", pk)
    papers = list(report.papers.all())
    waiting = [paper for paper in papers if paper.is_waiting]
    emails = list(Message.objects.filter(about=report.pk).select_related("to"))
    moving = waiting + [email for email in emails if email.is_waiting]
    context = {
        "report": report,
        "site": report.site,
        "papers": papers,
        "waiting": waiting,
        "moving": moving,
        "every": refresh_pause(moving),
        "failed": [paper for paper in papers if paper.state == Paper.State.FAILED],
        "made_count": sum(paper.state == Paper.State.MADE for paper in papers),
        "holding": report.items.holding().count(),
        "is_treated": SiteState.of(report.site, with_levels=False).facts().is_treated,
        "emails": emails,
        "not_told": not_told_words(
            report.site, [message.to_id for message in emails], report.issued_at
        ),
    }
    page = "_issued_progress" if request.htmx else "issued"
    return render(request, f"portal/office/reports/{page}.html", context)
