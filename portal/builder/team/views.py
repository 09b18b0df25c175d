"""The builder's own people: who let each in, what they may see, who vouches for them."""

from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from portal.builder.problems import saying
from portal.people_shown import people_of
from portal.requests.access import builder_required
from readiness import clock
from readiness.actions.people import vouching
from readiness.models import BuilderContact


@require_safe
@builder_required
def team(request):
    """Everybody who signs in for each of the reader's own builders, and who is invited there."""
    teams = [_team(membership) for membership in request.user.active_memberships]
    context = {"teams": teams, "now": clock.now()}
    return render(request, "portal/builder/team/team.html", context)


def _team(membership: BuilderContact) -> dict:
    """One builder's people, as one of them may see them."""
    builder = membership.builder
    invitations = builder.invitations.filter(accepted_at=None, revoked_at=None)
    return {
        "builder": builder,
        "people": people_of(builder),
        "invitations": invitations.select_related("invited_by"),
        "may_vouch": membership.is_administrator,
        "may_act": membership.may_act,
    }


@require_POST
@builder_required
def vouch(request, pk):
    """Say that an account is that person's: an administrator of the builder only."""
    builders = [membership.builder_id for membership in request.user.active_memberships]
    own = BuilderContact.objects.filter(builder__in=builders)
    contact = get_object_or_404(own.select_related("user"), pk=pk)
    with saying(request, _("%(person)s can sign now.") % {"person": contact}):
        vouching.vouch_for(request.user, contact)
    return redirect("builder:team")
