"""The pages that belong to nobody in particular: home, cautions, about, errors."""

import sys

from django.http import HttpResponseServerError
from django.shortcuts import redirect, render
from django.template import loader
from django.urls import NoReverseMatch, reverse

from portal.requests import trouble
from readiness.evidence import checkpoints, signing
from readiness.models import SigningKey
from readiness.version import NAME, VERSION


def home(request):
    """Send each kind of person to their own home screen."""
    target = "office:home" if request.user.is_applicator else "builder:home"
    try:
        return redirect(target)
    except NoReverseMatch:
        return redirect(reverse("cautions"))


def cautions(request):
    """The usual cautions about treatment day."""
    return render(request, "portal/cautions.html")


def about(request):
    """What this is: its version and licence, and the keys that it signed its Record with."""
    keys = list(SigningKey.objects.select_related("replaces").order_by("-since"))
    context = {
        "name": NAME,
        "version": VERSION,
        "checkpoint": checkpoints.newest(),
        "keys": [(key, signing.public_pem(key.public), signing.is_endorsed(key)) for key in keys],
    }
    return render(request, "portal/about.html", context)


def bad_request(request, exception=None):
    return render(request, "400.html", status=400)


def permission_denied(request, exception=None):
    return render(request, "403.html", {"reason": str(exception or "")}, status=403)


def page_not_found(request, exception=None):
    return render(request, "404.html", status=404)


def server_error(request):
    """Needs neither the database nor a context: either may be what failed.

    Django calls this while it handles the error, wherever that came from: a view or a middleware.
    """
    error = sys.exc_info()[1]
    if found := trouble.of(error):
        return trouble.answer(request, found, error)
    return HttpResponseServerError(loader.get_template("500.html").render())
