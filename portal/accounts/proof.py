"""How the person of this session showed who they are; and a code to their own address."""

from __future__ import annotations

from datetime import timedelta

from allauth.core import ratelimit
from django import forms
from django.conf import settings
from django.contrib import messages
from django.shortcuts import redirect, render, resolve_url
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from portal.accounts.sign_in_forms import CodeForm
from portal.requests.devices import device_name
from portal.requests.sign_in_pages import with_a_new_id
from readiness.actions.people.vouching import vouch_by_address
from readiness.actions.visits.proof import Method, Proof
from readiness.operations.allauth_inside import OwnAddressCode, authentications, has_passkey

COUNTS = {"webauthn": Method.PASSKEY, "totp": Method.APP, "code": Method.CODE}
"""What shows who somebody is; a password may be known to more, a link opens without them."""


def proof_of(request) -> Proof | None:
    """The newest proof of this session, which is one browser on one device."""
    device = device_name(request.headers.get("User-Agent", ""))
    for how, at, address in reversed(authentications(request)):
        if how in COUNTS:
            return Proof(COUNTS[how], at, device, address)
    return None


def is_shown_just_now(request) -> bool:
    """Whether they have shown it in the last minutes: before they change how they show it."""
    proof = proof_of(request)
    lasting = timedelta(seconds=settings.ACCOUNT_REAUTHENTICATION_TIMEOUT)
    return proof is not None and timezone.now() - proof.at < lasting


def passkey_for(request, leads_on: str) -> str:
    """The address of the page that takes a passkey, then leads on; "" for who has none."""
    if not has_passkey(request.user):
        return ""
    return f"{reverse('mfa_reauthenticate_webauthn')}?{urlencode({'next': leads_on})}"


def own_code_for(leads_on: str) -> str:
    """The address of the page that sends and takes a code, then leads on."""
    return f"{reverse('accounts:own_code')}?{urlencode({'next': leads_on})}"


class OwnCodeForm(CodeForm):
    """The code, and where to go on to."""

    next = forms.CharField(required=False, widget=forms.HiddenInput)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def own_code(request):
    """Send a code to the person's own address, and take it."""
    leads_on = _safe(request, request.POST.get("next") or request.GET.get("next", ""))
    process = OwnAddressCode.under_way(request)
    if request.method == "POST" and request.POST.get("action") == "send":
        if ratelimit.consume(request, action="request_login_code", key=request.user.email.lower()):
            OwnAddressCode.start(request)
        else:
            messages.error(request, _("Too many codes were asked for. Wait five minutes."))
        return redirect(own_code_for(leads_on))
    if process is None:
        return _page(request, leads_on)
    form = OwnCodeForm(request.POST or None, code=process.code, initial={"next": leads_on})
    if request.method != "POST":
        return _page(request, leads_on, form)
    if form.is_valid():
        process.finish()
        vouch_by_address(request.user)
        with_a_new_id(request)
        return redirect(leads_on)
    if not process.record_invalid_attempt():
        messages.error(request, _("Wrong code, too many times. Ask for a new one."))
        return _page(request, leads_on)
    return _page(request, leads_on, form)


def _page(request, leads_on: str, form=None):
    context = {"form": form, "leads_on": leads_on, "passkey": passkey_for(request, leads_on)}
    return render(request, "portal/accounts/own_code.html", context)


def _safe(request, address: str) -> str:
    """A page of ours to go on to."""
    hosts = {request.get_host()}
    if url_has_allowed_host_and_scheme(address, hosts, require_https=request.is_secure()):
        return address
    return resolve_url("home")
