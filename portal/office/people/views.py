"""Who may sign in: a builder's contacts, and the applicator's own staff."""

from allauth.mfa.models import Authenticator
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from portal.accounts.forms import ContactForm, InviteContactForm, InviteStaffForm
from portal.requests.access import applicator_required
from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.people import inviting
from readiness.actions.permission import require_owner
from readiness.models import Builder, BuilderContact, Invitation, User


def contacts_context(builder):
    """What `people/_contacts.html` shows: a builder's people and unused invitations."""
    return {
        "builder": builder,
        "contacts": builder.contacts.select_related("user").prefetch_related("sites"),
        "invitations": unused(builder.invitations.all()),
        "now": clock.now(),
    }


def unused(invitations):
    """Those that nobody used or took back, with the e-mails about them."""
    return invitations.filter(accepted_at=None, revoked_at=None).prefetch_related("messages")


@applicator_required
@never_cache
def invite(request, builder_id):
    """Invite a person to sign in for a builder."""
    builder = get_object_or_404(Builder, pk=builder_id)
    form = InviteContactForm(request.POST or None, builder=builder)
    if request.method == "POST" and form.is_valid():
        try:
            invited = inviting.invite_contact(
                request.user, builder, form.cleaned_data["email"], sites=form.chosen_sites
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
def contact(request, pk):
    """A contact's position and sites."""
    person = get_object_or_404(BuilderContact.objects.select_related("user", "builder"), pk=pk)
    form = ContactForm(request.POST or None, contact=person)
    if request.method == "POST" and form.is_valid():
        inviting.change_contact(
            request.user,
            person,
            position=form.cleaned_data["position"],
            sites=form.chosen_sites,
        )
        messages.success(request, _("%(person)s: saved.") % {"person": person})
        return redirect("office:builder", person.builder_id)
    return render(request, "portal/office/people/contact.html", {"form": form, "contact": person})


@applicator_required
@require_POST
def switch_contact(request, pk):
    """Let a contact sign in, or not."""
    person = get_object_or_404(BuilderContact, pk=pk)
    on = request.POST.get("on") == "yes"
    inviting.switch_contact(request.user, person, on=on)
    said = _("%(person)s can sign in again.") if on else _("%(person)s can no longer sign in.")
    messages.success(request, said % {"person": person})
    return redirect("office:builder", person.builder_id)


@applicator_required
@require_POST
@never_cache
def resend(request, pk):
    """Send an invitation again, with a new link."""
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
    people = User.objects.filter(role=User.Role.APPLICATOR).order_by("name", "email")
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
@never_cache
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
    if actor.pk == colleague.pk:
        raise Refused(_("Change your own second factor on your account page."))
    Authenticator.objects.filter(user=colleague).delete()
    said = _("%(person)s has to set up a new second factor at the next sign-in.")
    return said % {"person": colleague}


def _switch(on, sentence):
    def change(actor, colleague):
        return _(sentence) % {"person": inviting.switch_staff(actor, colleague, on=on)}

    return change


def _own(owner, sentence):
    def change(actor, colleague):
        return _(sentence) % {"person": inviting.change_ownership(actor, colleague, owner=owner)}

    return change


_STAFF_CHANGES = {
    "off": _switch(False, later("%(person)s can no longer sign in.")),
    "on": _switch(True, later("%(person)s can sign in again.")),
    "owner": _own(True, later("%(person)s is now an owner.")),
    "not_owner": _own(False, later("%(person)s is no longer an owner.")),
    "reset": _reset_second_factor,
}


def _invited(request, invited):
    """Show the link this once: it is stored nowhere."""
    context = {"invitation": invited.invitation, "link": invited.link}
    return render(request, "portal/office/people/invited.html", context)


def _back_to_people(invitation):
    if invitation.builder_id:
        return redirect("office:builder", invitation.builder_id)
    return redirect("office:staff")
