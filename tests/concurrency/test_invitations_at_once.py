"""One invitation, two people at the same moment."""

import pytest

from readiness.actions.people import inviting
from readiness.models import BuilderContact, Invitation
from tests.concurrency.test_two_at_once import at_once, refusals
from tests.factories import token_of

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_link_opened_by_two_people_lets_one_in(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    token = token_of(invited)
    results = at_once(
        lambda: inviting.accept_invitation(token, name="First"),
        lambda: inviting.accept_invitation(token, name="Second"),
    )
    assert len(refusals(results)) == 1
    assert BuilderContact.objects.count() == 1
    assert Invitation.objects.get().accepted_at is not None


def test_an_invitation_is_either_used_or_taken_back(applicator, builder):
    invited = inviting.invite_contact(applicator, builder, "new@wattle.example")
    token = token_of(invited)
    results = at_once(
        lambda: inviting.accept_invitation(token, name="First"),
        lambda: inviting.revoke_invitation(applicator, invited),
    )
    assert len(refusals(results)) == 1
    kept = Invitation.objects.get()
    assert (kept.accepted_at is None) != (kept.revoked_at is None)
