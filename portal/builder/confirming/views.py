"""Confirming readiness, and withdrawing it."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from portal.accounts.proof import passkey_for, proof_of
from portal.builder.access import opens, posted_to
from portal.builder.forms import ConfirmForm, ReasonForm
from portal.builder.problems import link_problems, link_reasons, saying
from portal.builder.states import SiteRow, row_of
from readiness.actions.errors import Problem, Refused
from readiness.actions.visits import confirming
from readiness.actions.visits.proof import proof_problems
from readiness.models import Business, Site
from readiness.rules.codes import Code
from readiness.rules.words import listed
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.refusals import visits as refusals
from readiness.wording.signing import signed_how


@require_safe
@opens("site")
def confirm(request, site):
    """The statement to sign; or why it can't be signed yet; or what was signed."""
    row = row_of(site)
    form = ConfirmForm(runs=row.state.walls_asked, initial={"signed_as": request.user.name})
    return _page(request, row, form)


@posted_to("report", "confirm")
def sign(request, report):
    """Sign on the report that was on the screen, so that a newer one is noticed."""
    site = report.site
    row = row_of(site)
    form = ConfirmForm(request.POST, runs=row.state.walls_asked)
    form.is_valid()
    problems = _unticked(form)
    if not problems:
        try:
            confirming.confirm_ready(
                request.user,
                report,
                ticks=form.ticks,
                proof=proof_of(request),
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
    site_zone = state.site.zone
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
            "out_of_reach": listed(
                wall.label for wall in state.facts().walls if not wall.reachable_mm
            ),
            "problems": problems,
            "reasons": link_reasons(state.site, assessment.confirm_reasons, request.may_act),
            "waits_for_us": not any(r.code.is_to_do for r in assessment.confirm_reasons),
            "lapsed": lapsed,
            "signed_how": signed_how(state.confirmation, site_zone) if state.confirmation else "",
            "passkey": _passkey(request, state.site),
            "to_prove": bool(proof_problems(request.user, proof_of(request), state.site)),
            "unsigned": [
                problem.sentence for problem in confirming.signer_problems(request.user, state.site)
            ],
            "statement": Business.current().confirmation_statement,
            "valid_days": state.values["confirmation_valid_days"],
            "booking_days": state.values["confirmation_to_booking_days"],
            "withdraw_form": withdraw_form or _withdraw_form(),
        },
    )


def _passkey(request, site: Site) -> str:
    """Where to use a passkey; "" where it would not do, as nobody vouches for the account yet."""
    if not request.membership.vouched_how:
        return ""
    return passkey_for(request, reverse("builder:confirm", args=[site.pk]))


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
        blank = ConfirmForm(runs=row.state.walls_asked, initial={"signed_as": request.user.name})
        return _page(request, row, blank, withdraw_form=form)
    with saying(request, _("Withdrawn. The site is no longer confirmed ready.")):
        confirming.withdraw_confirmation(
            request.user, confirmation, reason=form.cleaned_data["reason"]
        )
    return redirect("builder:site", pk=site.pk)
