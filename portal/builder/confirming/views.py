"""Confirming readiness, and withdrawing it."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from portal.builder.access import opens, posted_to
from portal.builder.forms import ConfirmForm, ReasonForm
from portal.builder.problems import link_problems, link_reasons, saying
from portal.builder.states import SiteRow, row_of
from readiness.actions.errors import Problem, Refused
from readiness.actions.visits import confirming
from readiness.models import Business
from readiness.rules.codes import Code
from readiness.rules.words import listed
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.refusals import visits as refusals


@require_safe
@opens("site")
def confirm(request, site):
    """The statement to sign; or why it can't be signed yet; or what was signed."""
    row = row_of(site)
    form = ConfirmForm(runs=row.state.runs, initial={"signed_as": request.user.name})
    return _page(request, row, form)


@posted_to("report", "confirm")
def sign(request, report):
    """Sign on the report that was on the screen, so that a newer one is noticed."""
    site = report.site
    row = row_of(site)
    form = ConfirmForm(request.POST, runs=row.state.runs)
    form.is_valid()
    problems = _unticked(form)
    if not problems:
        try:
            confirming.confirm_ready(
                request.user,
                report,
                ticks=form.ticks,
                signed_as=form.names,
                confirmation_id=form.cleaned_data.get("confirmation_id"),
            )
        except Refused as refused:
            problems = link_problems(site, refused)
            form = form.anew(request.user.name)
        else:
            messages.success(request, _("Confirmed. Now ask for a day."))
            return redirect("builder:book", pk=site.pk)
    return _page(request, row, form, problems)


def _unticked(form: ConfirmForm) -> list[Problem]:
    """Walls whose ticks are missing."""
    found = []
    for run, ticks in form.walls:
        left = [words for _slug, words, ticked in ticks if not ticked]
        if left:
            text = _("%(wall)s: nothing is ticked yet.")
            if len(left) < len(ticks):
                text = _("%(wall)s: tick %(left)s.")
            text = text % {"wall": run.label, "left": listed(left)}
            found.append(Problem(text, url=f"#wall-{run.pk}", label=_("Go to the wall")))
    return found


def _page(request, row: SiteRow, form: ConfirmForm, problems=(), withdraw_form=None):
    state = row.state
    assessment = state.assessment
    lapsed = [
        BUILDER.sentence(reason)
        for reason in assessment.booking_reasons
        if reason.code.asks_to_confirm and reason.code is not Code.NOT_CONFIRMED
    ]
    return render(
        request,
        "portal/builder/confirming/confirm.html",
        {
            "site": state.site,
            "row": row,
            "state": state,
            "form": form,
            "problems": problems,
            "reasons": link_reasons(state.site, assessment.confirm_reasons),
            "waits_for_us": not any(r.code.is_to_do for r in assessment.confirm_reasons),
            "lapsed": lapsed,
            "unsigned": [problem.sentence for problem in confirming.signer_problems(request.user)],
            "statement": Business.current().confirmation_statement,
            "valid_days": state.values["confirmation_valid_days"],
            "booking_days": state.values["confirmation_to_booking_days"],
            "withdraw_form": withdraw_form or _withdraw_form(),
        },
    )


def _withdraw_form(data=None) -> ReasonForm:
    missing = refusals.no_reason_to_withdraw()
    return ReasonForm(data, label=_("Why do you withdraw it?"), missing=missing, prefix="withdraw")


@posted_to("confirmation", "confirm")
def withdraw(request, confirmation):
    """Take the confirmation back, with a reason."""
    site = confirmation.report.site
    form = _withdraw_form(request.POST)
    if not form.is_valid():
        row = row_of(site)
        blank = ConfirmForm(runs=row.state.runs, initial={"signed_as": request.user.name})
        return _page(request, row, blank, withdraw_form=form)
    with saying(request, _("Withdrawn. The site is no longer confirmed ready.")):
        confirming.withdraw_confirmation(
            request.user, confirmation, reason=form.cleaned_data["reason"]
        )
    return redirect("builder:site", pk=site.pk)
