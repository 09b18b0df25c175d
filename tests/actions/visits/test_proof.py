"""Who signs showed today that it is them; what is signed keeps how."""

from datetime import UTC, datetime, timedelta

import pytest

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.people import vouching
from readiness.actions.visits import confirming
from readiness.models import Message, ReadinessConfirmation
from readiness.snapshots import snapshot_digest
from tests.factories import all_ticks, confirm, make_contact, make_issued, make_site, proof_of

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
"""A Monday, 11 in the morning in New South Wales."""


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def report(applicator, site):
    return make_issued(applicator, site, kinds=())


def test_what_is_signed_keeps_who_showed_what_and_when(contact, report):
    made = confirm(contact, report, proof=proof_of(contact, at=NOW - timedelta(minutes=5)))
    content = confirming.signed_content(made)
    assert content["version"] == 2
    assert content["account"] == str(contact.pk)
    assert content["address"] == "supervisor@wattle.example"
    assert (content["proved_by"], content["device"]) == ("code", "Chrome on Android")
    assert content["proved_at"] == (NOW - timedelta(minutes=5)).isoformat()
    entry = report.site.record.get(verb="ready_confirmed")
    made.refresh_from_db()
    assert entry.data["sha256"] == snapshot_digest(confirming.signed_content(made))


def test_what_was_signed_before_keeps_the_digest_of_its_version(contact, report):
    """As 0.2 has it: confirmations of it have no version column, which is then 1."""
    made = confirm(contact, report)
    made.version = 1
    assert set(confirming.signed_content(made)) == {
        "report", "statement", "ticks", "name", "position", "signature", "confirmed_at",
    }  # fmt: skip


@pytest.mark.parametrize(
    "given",
    [
        {"at": NOW - timedelta(hours=12)},  # yesterday, 11 in the evening at the site
        {"address": "somebody@else.example"},
        {"method": "password", "address": ""},
    ],
    ids=["yesterday", "another address", "a password"],
)
def test_nobody_signs_without_a_proof_of_today_of_their_own(contact, report, given):
    for proof in (proof_of(contact, **given), None):
        with pytest.raises(Refused, match="Show first that it is you"):
            confirming.confirm_ready(contact, report, ticks=all_ticks(report.site), proof=proof)
    assert not ReadinessConfirmation.objects.exists()


def test_a_proof_of_this_morning_counts_all_day(contact, report):
    with clock.at(NOW + timedelta(hours=12, minutes=59)):
        assert confirm(contact, report, proof=proof_of(contact, at=NOW))


def test_a_passkey_counts_too(contact, report):
    vouching.vouch_by_address(contact)
    made = confirm(contact, report, proof=proof_of(contact, method="passkey", address=""))
    assert made.proved_by == "passkey"


def test_all_of_the_builder_who_see_the_site_are_told(contact, report, builder):
    colleague = make_contact(builder, "office@wattle.example")
    make_contact(builder, "elsewhere@wattle.example", sites=[make_site(builder)])
    report.site.notify.set([contact.memberships.get()])
    confirm(contact, report)
    told = Message.objects.filter(kind="signed_for_builder").values_list("to__email", flat=True)
    assert sorted(told) == [colleague.email, contact.email]
