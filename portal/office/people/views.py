"""Who may sign in: a builder's contacts, and the applicator's own staff."""

from allauth.mfa.models import Authenticator
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.views.decorators.http import require_POST

from portal.accounts.forms import ContactForm, InviteContactForm, InviteStaffForm
from portal.accounts.sessions import signed_in
from portal.people_shown import people_of
from portal.requests.access import applicator_required, asks_again
from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.people import inviting, rights
from readiness.actions.people.second_factor import reset_second_factor
from readiness.actions.permission import require_owner
from readiness.models import Builder, BuilderContact, Invitation, User
from readiness.wording import dates


def contacts_context(builder):
    """What `people/_contacts.html` shows: a builder's people and unused invitations."""
    return {
        "builder": builder,
        "people": people_of(builder),
        "invitations": unused(builder.invitations.all()),
        "now": clock.now(),
    }


def unused(invitations):
    """Those that nobody used or took back, with the e-mails about them."""
    return invitations.filter(accepted_at=None, revoked_at=None).prefetch_related("messages")


@applicator_required
def invite(request, builder_id):
    """Invite a person to sign in for a builder."""
    builder = get_object_or_404(Builder, pk=builder_id)
    form = InviteContactForm(request.POST or None, builder=builder)
    if request.method == "POST" and form.is_valid():
        try:
            invited = inviting.invite_contact(
                request.user,
                builder,
                form.cleaned_data["email"],
                sites=form.chosen_sites,
                role=form.cleaned_data["role"],
            )
        except Refused as refusal:
            form.add_error("email", str(refusal))
        else:
            return _invited(request, invited)
    return render(
        request,
        "portal/office/people/invite.html",
        {"form": form, "builder": builder, "days": inviting.valid_days()},
    )


@applicator_required
@asks_again
def contact(request, pk):
    """A contact's position and sites."""
    person = get_object_or_404(BuilderContact.objects.select_related("user", "builder"), pk=pk)
    form = ContactForm(request.POST or None, contact=person)
    if request.method == "POST" and form.is_valid():
        rights.change_contact(
            request.user,
            person,
            position=form.cleaned_data["position"],
            role=form.cleaned_data["role"],
            sites=form.chosen_sites,
        )
        messages.success(request, _("%(person)s: saved.") % {"person": person})
        return redirect("office:builder", person.builder_id)
    sessions = signed_in([person.user])[person.user_id]
    context = {"form": form, "contact": person, "sessions": sessions}
    return render(request, "portal/office/people/contact.html", context)


@applicator_required
@require_POST
def sign_out_contact(request, pk):
    """End all sessions of a contact."""
    require_owner(request.user)
    person = get_object_or_404(BuilderContact.objects.select_related("user"), pk=pk)
    messages.success(request, _sign_out(request.user, person.user))
    return redirect("office:contact", person.pk)


@applicator_required
@require_POST
@asks_again
def switch_contact(request, pk):
    """Let a contact sign in, or not."""
    person = get_object_or_404(BuilderContact.objects.select_related("user", "builder"), pk=pk)
    on = request.POST.get("on") == "yes"
    rights.switch_contact(request.user, person, on=on)
    said = _("%(person)s can no longer sign in for %(builder)s.")
    if on:
        said = _("%(person)s can sign in for %(builder)s again.")
    messages.success(request, said % {"person": person, "builder": person.builder})
    return redirect("office:builder", person.builder_id)


@applicator_required
@require_POST
def resend(request, pk):
    """Send an invitation again: a new e-mail with a link of its own."""
    found = get_object_or_404(Invitation, pk=pk)
    try:
        return _invited(request, inviting.resend_invitation(request.user, found))
    except Refused as refusal:
        messages.error(request, str(refusal))
        return _back_to_people(found)


@applicator_required
@require_POST
def revoke(request, pk):
    """Cancel an invitation."""
    found = get_object_or_404(Invitation, pk=pk)
    try:
        inviting.revoke_invitation(request.user, found)
        said = _("Invitation cancelled. The link sent to %(address)s no longer works.")
        messages.success(request, said % {"address": found.email})
    except Refused as refusal:
        messages.error(request, str(refusal))
    return _back_to_people(found)


@applicator_required
def staff(request):
    """The applicator's own people; owners can change who they are."""
    people = list(User.objects.filter(role=User.Role.APPLICATOR).order_by("name", "email"))
    if request.user.is_owner:
        sessions = signed_in(people)
        for person in people:
            person.signed_in = sessions[person.pk]  # type: ignore[attr-defined]  # for the page
    protected = set(
        Authenticator.objects.exclude(type=Authenticator.Type.RECOVERY_CODES)
        .filter(user__in=people)
        .values_list("user_id", flat=True)
    )
    invitations = unused(Invitation.objects.filter(role=User.Role.APPLICATOR))
    context = {
        "people": people,
        "protected": protected,
        "invitations": invitations,
        "now": clock.now(),
    }
    return render(request, "portal/office/people/staff.html", context)


@applicator_required
def invite_staff(request):
    """Invite a colleague."""
    require_owner(request.user)
    form = InviteStaffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            return _invited(
                request, inviting.invite_staff(request.user, form.cleaned_data["email"])
            )
        except Refused as refusal:
            form.add_error("email", str(refusal))
    return render(request, "portal/office/people/invite_staff.html", {"form": form})


@applicator_required
@require_POST
@asks_again
def change_staff(request, pk):
    """Switch a colleague on or off, make them an owner or not, or reset their second factor."""
    require_owner(request.user)
    colleague = get_object_or_404(User, pk=pk, role=User.Role.APPLICATOR)
    change = _STAFF_CHANGES.get(request.POST.get("change"))
    if change is None:
        raise PermissionDenied(_("There is no such change."))
    try:
        messages.success(request, change(request.user, colleague))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("office:staff")


def _reset_second_factor(actor, colleague):
    reset_second_factor(actor, colleague)
    said = _("%(person)s has to set up a new second factor at the next sign-in.")
    return said % {"person": colleague}


def _sign_out(actor, person):
    rights.sign_out_everywhere(actor, person)
    return _("%(person)s is signed out on every device.") % {"person": person}


def _switch(on, sentence):
    def change(actor, colleague):
        return _(sentence) % {"person": rights.switch_staff(actor, colleague, on=on)}

    return change


def _own(owner, sentence):
    def change(actor, colleague):
        return _(sentence) % {"person": rights.change_ownership(actor, colleague, owner=owner)}

    return change


_STAFF_CHANGES = {
    "off": _switch(False, later("%(person)s can no longer sign in.")),
    "on": _switch(True, later("%(person)s can sign in again.")),
    "owner": _own(True, later("%(person)s is now an owner.")),
    "not_owner": _own(False, later("%(person)s is no longer an owner.")),
    "reset": _reset_second_factor,
    "sign_out": _sign_out,
}


def _invited(request, invitation):
    """Back to the people, where it says how far the e-mail is; the link is in it alone."""
    said = _(
        "We will e-mail %(address)s a link within a minute. It works once, until %(day)s. Nobody "
        "else sees the link."
    )
    until = dates.long_day(timezone.localtime(invitation.expires_at))
    messages.success(request, said % {"address": invitation.email, "day": until})
    return _back_to_people(invitation)


def _back_to_people(invitation):
    if invitation.builder_id:
        return redirect("office:builder", invitation.builder_id)
    return redirect("office:staff")
