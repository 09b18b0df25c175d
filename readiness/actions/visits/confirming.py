"""The builder's signed statement that a site is ready."""

import uuid
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import timedelta

from django.db import transaction

from readiness import clock
from readiness.actions import anchoring, limits
from readiness.actions.errors import About, Problem, Refused
from readiness.actions.papers import asking
from readiness.actions.permission import require_contact, require_visible
from readiness.actions.visits.proof import Proof, proof_problems
from readiness.evidence.record import append, lock_site
from readiness.facts import SiteState
from readiness.messages import outbox
from readiness.models import Business, ReadinessConfirmation, Site, SiteReport, User
from readiness.models.verbs import Verb
from readiness.rules.site.assessment import Reason
from readiness.snapshots import snapshot_digest
from readiness.wording.builder.reasons import BUILDER
from readiness.wording.confirming import tick_words
from readiness.wording.refusals import visits as refusals
from readiness.wording.saying import Audience

TICKS = ("clean", "dry", "clear")
"""What is ticked of each wall; `readiness.wording.confirming` says it."""


def problem_from(reason: Reason, reader: Audience) -> Problem:
    """A reason of the assessment as the problem that an action refuses its reader with."""
    sentence = reader.sentence(reason)
    if reason.referral_id:
        return Problem(sentence, About.REFERRAL, reason.referral_id)
    if reason.item_id:
        return Problem(sentence, About.ITEM, reason.item_id)
    if reason.run_id:
        return Problem(sentence, About.RUN, reason.run_id)
    return Problem(sentence, About.SITE)


@transaction.atomic
def confirm_ready(
    actor: User,
    report: SiteReport,
    *,
    ticks: Mapping[str, Sequence[str]],
    proof: Proof | None,
    signed_as: Collection[str] = (),
    confirmation_id: uuid.UUID | None = None,
) -> ReadinessConfirmation:
    """Sign that the site is ready, on its current report.

    `ticks` gives for each wall run's id the words ticked: all of TICKS are needed, of a wall that
    nobody can reach none. The statement is
    the business's, kept in full. Name and position are those of the actor's account: `signed_as`
    holds the names that the page showed or somebody typed, and another one is refused. `proof` is
    how they showed today that they are that person. Raises Refused with every reason why it can't
    be signed.
    """
    site = lock_site(report.site_id)
    require_contact(actor, site)
    known = ReadinessConfirmation.objects.filter(pk=confirmation_id).first()
    if confirmation_id and known:
        return _still_that(known, report)
    limits.require_room_for_a_confirmation(actor, site)
    state = SiteState.of(site)
    problems = _confirm_problems(state, report, ticks)
    problems += signer_problems(actor, site, signed_as)
    problems += proof_problems(actor, proof, site)
    membership = actor.membership_in(site.builder_id)
    if problems or proof is None or membership is None:
        raise Refused(problems)
    now = clock.now()
    confirmation = ReadinessConfirmation.objects.create(
        pk=confirmation_id or uuid.uuid4(),
        report=state.report,
        confirmed_by=actor,
        statement=Business.current().confirmation_statement,
        name=actor.name.strip(),
        position=membership.position.strip(),
        signature="",  # nothing is typed: the account signs
        ticks={run_id: sorted(words) for run_id, words in ticks.items()},
        version=ReadinessConfirmation.VERSION,
        account_address=actor.email,
        proved_by=proof.method,
        proved_at=proof.at,
        device=proof.device,
        confirmed_at=now,
        valid_until=now + timedelta(days=int(state.values["confirmation_valid_days"])),
    )
    append(
        site,
        actor,
        Verb.READY_CONFIRMED,
        {
            "confirmation": str(confirmation.pk),
            "report": str(confirmation.report_id),
            "number": confirmation.report.number,
            "valid_until": confirmation.valid_until.isoformat(),
            "sha256": snapshot_digest(signed_content(confirmation)),
        },
        rows=[confirmation],
    )
    anchoring.checkpoint_after(anchoring.Reason.CONFIRMED)
    asking.queue_confirmation_paper(confirmation)
    outbox.ready_confirmed(confirmation)
    outbox.signed_for_builder(confirmation)
    return confirmation


def signer_problems(actor: User, site: Site, signed_as: Collection[str] = ()) -> list[Problem]:
    """Why the actor's account can't sign for the site: it lacks a name, or a position with the
    site's builder, or another name was given.

    Names are compared without regard to case and spaces.
    """
    membership = actor.membership_in(site.builder_id)
    problems = []
    if not actor.name.strip():
        problems.append(Problem(refusals.no_name_to_sign_with(), About.ACCOUNT))
    if not (membership and membership.position.strip()):
        problems.append(Problem(refusals.no_position_to_sign_with(), About.ACCOUNT))
    own = _folded(actor.name)
    problems += [
        Problem(refusals.signed_as_another(actor.name, name.strip()), About.ACCOUNT)
        for name in dict.fromkeys(signed_as)
        if name.strip() and _folded(name) != own
    ]
    return problems


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def _still_that(known: ReadinessConfirmation, report: SiteReport) -> ReadinessConfirmation:
    """A confirmation that was sent before, unless it is another one or was taken back since."""
    if known.report_id != report.pk:
        raise Refused(refusals.form_of_another_report())
    if known.withdrawn_at:
        raise Refused(refusals.signed_and_withdrawn())
    return known


def _confirm_problems(state: SiteState, report: SiteReport, ticks: Mapping) -> list[Problem]:
    if state.report is None or state.report.pk != report.pk:
        return [Problem(refusals.newer_report(), About.SITE)]
    problems = [problem_from(reason, BUILDER) for reason in state.assessment.confirm_reasons]
    for run in state.walls_asked:
        ticked = ticks.get(str(run.pk), ())
        missing = [tick_words(tick) for tick in TICKS if tick not in ticked]
        if missing:
            text = refusals.not_ticked(run.label, missing)
            problems.append(Problem(text, About.RUN, str(run.pk)))
    return problems


def signed_content(confirmation: ReadinessConfirmation) -> dict:
    """What the Record's digest of a confirmation covers, in the version that it was signed in."""
    return SIGNED[confirmation.version](confirmation)


def _signed_with_proof(confirmation: ReadinessConfirmation) -> dict:
    proved_at = confirmation.proved_at
    return {
        "version": 2,
        "report": str(confirmation.report_id),
        "statement": confirmation.statement,
        "ticks": confirmation.ticks,
        "name": confirmation.name,
        "position": confirmation.position,
        "account": str(confirmation.confirmed_by_id),
        "address": confirmation.account_address,
        "proved_by": str(confirmation.proved_by),
        "proved_at": proved_at.isoformat() if proved_at else None,
        "device": confirmation.device,
        "confirmed_at": confirmation.confirmed_at.isoformat(),
    }


def _signed_by_name(confirmation: ReadinessConfirmation) -> dict:
    """Up to 0.2: a name that was typed, later that of the account."""
    return {
        "report": str(confirmation.report_id),
        "statement": confirmation.statement,
        "ticks": confirmation.ticks,
        "name": confirmation.name,
        "position": confirmation.position,
        "signature": confirmation.signature,
        "confirmed_at": confirmation.confirmed_at.isoformat(),
    }


SIGNED: Mapping[int, Callable[[ReadinessConfirmation], dict]] = {
    1: _signed_by_name,
    2: _signed_with_proof,
}


@transaction.atomic
def withdraw_confirmation(
    actor: User, confirmation: ReadinessConfirmation, *, reason: str
) -> ReadinessConfirmation:
    """Take a confirmation back: the builder, or the applicator who saw that it does not hold."""
    site = lock_site(confirmation.report.site_id)
    require_visible(actor, site)
    confirmation = ReadinessConfirmation.objects.select_related("report__site__builder").get(
        pk=confirmation.pk
    )
    if not reason.strip():
        raise Refused(refusals.no_reason_to_withdraw())
    if confirmation.withdrawn_at:
        return confirmation
    confirmation.withdrawn_at, confirmation.withdrawn_by = clock.now(), actor
    confirmation.withdrawn_reason = reason
    confirmation.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_reason"])
    append(
        site,
        actor,
        Verb.CONFIRMATION_WITHDRAWN,
        {"confirmation": str(confirmation.pk)},
        rows=[confirmation],
        said={"reason": reason},
    )
    asking.queue_withdrawn_confirmation(confirmation)
    outbox.confirmation_withdrawn(confirmation)
    return confirmation
