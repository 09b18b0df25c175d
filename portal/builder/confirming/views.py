"""Confirming readiness, and withdrawing it."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from portal.builder.access import opens, posted_to
from portal.builder.forms import ConfirmForm, ReasonForm
from portal.builder.problems import Linked, link_problems, link_reasons, saying
from portal.builder.sentences import to_builder
from portal.builder.states import SiteRow, row_of
from readiness.actions.errors import Refused
from readiness.actions.visits import confirming
from readiness.models import Business
from readiness.rules.site.assessment import TURNED_AWAY
from readiness.rules.site.due_words import TO_DO
from readiness.rules.words import listed


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
            messages.success(request, "Confirmed. You can ask for a day now.")
            return redirect("builder:book", pk=site.pk)
    return _page(request, row, form, problems)


def _unticked(form: ConfirmForm) -> list[Linked]:
    """Walls whose ticks are missing."""
    found = []
    for run, ticks in form.walls:
        left = [words for _, words, ticked in ticks if not ticked]
        if left:
            what = "nothing is ticked yet" if len(left) == len(ticks) else f"tick {listed(left)}"
            found.append(Linked(f"{run.label}: {what}.", f"#wall-{run.pk}", "Go to the wall"))
    return found


def _page(request, row: SiteRow, form: ConfirmForm, problems=(), withdraw_form=None):
    state = row.state
    assessment = state.assessment
    lapsed = [
        to_builder(reason.sentence)
        for reason in assessment.booking_reasons
        if reason.code.startswith("confirmation_") or reason.code in ("run_unticked", TURNED_AWAY)
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
            "waits_for_us": not any(r.code in TO_DO for r in assessment.confirm_reasons),
            "lapsed": lapsed,
            "unsigned": [problem.sentence for problem in confirming.signer_problems(request.user)],
            "statement": Business.current().confirmation_statement,
            "valid_days": state.values["confirmation_valid_days"],
            "booking_days": state.values["confirmation_to_booking_days"],
            "withdraw_form": withdraw_form or _withdraw_form(),
        },
    )


def _withdraw_form(data=None) -> ReasonForm:
    missing = "Say why the confirmation is withdrawn."
    return ReasonForm(data, label="Why do you withdraw it?", missing=missing, prefix="withdraw")


@posted_to("confirmation", "confirm")
def withdraw(request, confirmation):
    """Take the confirmation back, with a reason."""
    site = confirmation.report.site
    form = _withdraw_form(request.POST)
    if not form.is_valid():
        row = row_of(site)
        blank = ConfirmForm(runs=row.state.runs, initial={"signed_as": request.user.name})
        return _page(request, row, blank, withdraw_form=form)
    with saying(request, "Withdrawn. The site is no longer confirmed ready."):
        confirming.withdraw_confirmation(
            request.user, confirmation, reason=form.cleaned_data["reason"]
        )
    return redirect("builder:site", pk=site.pk)
