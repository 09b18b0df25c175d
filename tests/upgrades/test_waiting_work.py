"""E-mails, papers and invitations that version 0.1 left waiting or failed, after the upgrade."""

import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from readiness import clock
from readiness.models import Invitation, Message, Paper
from tests.upgrades.scratch import made_once

NOW = clock.now()
LONG_AGO = NOW - timedelta(days=30)
FIRST = "0001_initial"


def migrate_to(name: str):
    """Bring the tables to a migration of ours; returns the models as they were then."""
    MigrationExecutor(connection).migrate([("readiness", name)])
    return apps_at(name)


def apps_at(name: str):
    """The models as they were at a migration of ours."""
    return MigrationExecutor(connection).loader.project_state([("readiness", name)]).apps


def latest() -> str:
    leaves = MigrationExecutor(connection).loader.graph.leaf_nodes("readiness")
    return leaves[0][1]


@pytest.fixture
def old(empty_database, kept_upgrades):
    """The tables of version 0.1, with one builder, one site and one person."""
    made_once(kept_upgrades / "first.sqlite3", lambda: migrate_to(FIRST))
    apps = apps_at(FIRST)

    class Old:
        def model(self, name):
            return apps.get_model("readiness", name)

    old = Old()
    old.builder = old.model("Builder").objects.create(name="Wattle Homes")
    old.person = old.model("User").objects.create(email="sam@wattle.example", role="builder")
    old.site = old.model("Site").objects.create(
        builder=old.builder, street="1 Tallowood Way", suburb="Mirrin Vale", state="NSW",
        postcode="2999", created_at=NOW,
    )  # fmt: skip
    return old


def message(old, queued_at=NOW, wait=False, **fields) -> uuid.UUID:
    made = old.model("Message").objects.create(
        site=old.site, to=old.person, kind="report_issued", about=uuid.uuid4(),
        key=str(uuid.uuid4()), queued_at=queued_at, details={"wait_for_papers": wait}, **fields,
    )  # fmt: skip
    return made.pk


@pytest.mark.long
def test_messages_get_the_state_that_they_were_in(old):
    sent = message(old, sent_at=NOW)
    waits = message(old)
    holds = message(old, wait=True)
    failed = message(old, error="the mail server does not answer.", wait=True)
    stale = message(old, queued_at=LONG_AGO)
    given_up = message(old, queued_at=LONG_AGO, error="the mail server does not answer.")
    migrate_to(latest())
    found = Message.objects.in_bulk()
    assert {
        sent: "sent", waits: "waiting", holds: "held", failed: "waiting", stale: "given_up",
        given_up: "given_up",
    } == {pk: str(row.state) for pk, row in found.items()}  # fmt: skip
    assert found[sent].sent_at == NOW
    assert found[holds].next_try_at == NOW + timedelta(hours=1)
    assert found[failed].attempts == 1
    assert set(Message.objects.due(clock.now())) == {found[waits], found[failed]}
    assert found[stale].error == "it waited for over a week."
    assert found[given_up].error == "the mail server does not answer."
    assert found[stale].can_be_retried


@pytest.mark.long
def test_papers_that_were_waiting_or_cut_off_are_made_and_failed_ones_stay(old):
    paper = old.model("Paper")
    for state in ("queued", "making", "failed", "made"):
        whole = {"digest": "a" * 64, "made_at": NOW} if state == "made" else {}
        paper.objects.create(
            site=old.site, kind="guide", subject=state, state=state, attempts=3,
            requested_at=LONG_AGO, error="no font", **whole,
        )  # fmt: skip
    migrate_to(latest())
    assert {row.subject for row in Paper.objects.due(clock.now())} == {"queued", "making"}
    assert Paper.objects.failed().get().subject == "failed"
    assert Paper.objects.made().get().subject == "made"


@pytest.mark.long
def test_an_invitation_keeps_what_became_of_its_e_mail(old):
    invitation = old.model("Invitation")
    made = {
        name: invitation.objects.create(
            email=f"{name}@wattle.example", builder=old.builder, created_at=NOW, expires_at=NOW,
            token_digest=f"{number:064d}", **fields,
        ).pk
        for number, (name, fields) in enumerate({
            "went": {"emailed_at": NOW},
            "failed": {"email_error": "the mail server does not take this address. Check it."},
            "used": {"emailed_at": NOW, "accepted_at": NOW},
        }.items())
    }  # fmt: skip
    migrate_to(latest())
    went, failed, used = (Invitation.objects.get(pk=made[name]) for name in made)
    assert (went.email_message.state, went.email_message.sent_at) == ("sent", NOW)
    assert failed.email_message.state == "given_up"
    assert "does not take this address" in failed.email_message.error
    assert used.email_message is None
