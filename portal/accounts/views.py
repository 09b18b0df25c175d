"""One's own account: details, open sessions, and the ways in that carry a token."""

from allauth.usersessions.models import UserSession
from allauth.usersessions.views import ListUserSessionsView
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_safe

from portal.accounts import demo
from portal.accounts.forms import AcceptContactForm, AcceptStaffForm, JoinForm, ProfileForm
from portal.requests.devices import device_name
from readiness.actions.errors import Refused
from readiness.actions.people.inviting import (
    accept_invitation,
    find_invitation,
    join_builder,
)
from readiness.messages.invitation_links import signs_in_already
from readiness.models import User
from readiness.operations.allauth_inside import sign_in


def profile(request):
    """A person's own details, and the way to everything else about their account."""
    form = ProfileForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("accounts:profile")
    if form.errors:  # the page's header must not show what was refused
        request.user.refresh_from_db()
    return render(request, "portal/accounts/profile.html", {"form": form})


@login_not_required
@never_cache
@sensitive_post_parameters("password")
def invitation(request, token):
    """An invitation's page. Opening it changes nothing, so that mail scanners do no harm."""
    found = find_invitation(token)
    if found is None:
        return render(request, "portal/accounts/invitation_gone.html", status=410)
    if signs_in_already(found):
        return _join(request, token, found)
    form_class = AcceptStaffForm if found.role == User.Role.APPLICATOR else AcceptContactForm
    form = form_class(request.POST or None, invitation=found)
    if request.method == "POST" and form.is_valid():
        try:
            user = accept_invitation(token, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return _sign_in(request, user, "invitation")
    return render(request, "portal/accounts/invitation.html", {"form": form, "invitation": found})


def _join(request, token, found):
    """One more builder for an account that is in use: it accepts, the link alone does not."""
    is_theirs = request.user.is_authenticated and request.user.email == found.email
    form = JoinForm(request.POST or None)
    if request.method == "POST" and is_theirs and form.is_valid():
        try:
            join_builder(request.user, token, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            said = _("You can now sign in for %(builder)s too.")
            messages.success(request, said % {"builder": found.builder})
            return redirect("home")
    context = {"form": form, "invitation": found, "is_theirs": is_theirs}
    return render(request, "portal/accounts/join.html", context)


@login_not_required
@never_cache
@require_safe
def demo_sign_in(request, token):
    """Sign in as one of the demo's people; does not exist outside the demo."""
    user = demo.user_of(token) if settings.READINESS_DEMO else None
    if user is None:
        raise Http404
    return _sign_in(request, user, "demo")


def _sign_in(request, user, method):
    if request.user.is_authenticated and request.user.pk != user.pk:
        logout(request)
    elif request.user.is_authenticated:
        return redirect("home")
    return sign_in(request, user, method)


class Sessions(ListUserSessionsView):
    """Where a person is signed in; each session can be ended, or all the others at once."""

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        for session in context["sessions"]:
            session.device = device_name(session.user_agent)
            if session.is_current():  # it is in use just now; that is noted every few minutes
                session.last_seen_at = timezone.now()
        return context

    def post(self, request, *args, **kwargs):
        chosen = request.POST.get("session")
        if not chosen:
            return super().post(request, *args, **kwargs)
        if not chosen.isdecimal():
            raise Http404
        session = get_object_or_404(UserSession, pk=chosen, user=request.user)
        if session.is_current():
            logout(request)
            return redirect("account_login")
        session.end()
        messages.success(request, _("That device is signed out."))
        return redirect("usersessions_list")


@login_not_required
def no_sign_up(request):
    """Sign-up does not exist; django-allauth asks for the address."""
    raise Http404
