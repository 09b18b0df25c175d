"""Which kind of person a view is for.

The answers are fixed: anonymous goes to the login page, an outsider gets 404 (the page does not
exist for them), and 403 is kept for someone who may see a thing but not change it: raise
`PermissionDenied` for that after fetching the object through a `visible_to(user)` queryset.
"""

from functools import wraps

from allauth.account.decorators import reauthentication_required
from django.http import Http404


def _required(test):
    def decorate(view):
        @wraps(view)
        def wrapper(request, *args, **kwargs):
            # LoginRequiredMiddleware has already sent an anonymous visitor to the login page.
            if not (request.user.is_authenticated and test(request.user)):
                raise Http404
            return view(request, *args, **kwargs)

        return wrapper

    return decorate


def is_builder_contact(user):
    """Whether the user is an active contact of a building company."""
    return user.is_contact


applicator_required = _required(lambda user: user.is_applicator)
"""View decorator: the applicator's staff only; 404 for everybody else."""

builder_required = _required(is_builder_contact)
"""View decorator: builder contacts only; 404 for everybody else."""

asks_again = reauthentication_required(enabled=lambda request: request.method == "POST")
"""View decorator: what is sent is done once its person has shown again, in the last minutes, that
it is them. They then come back, and what they sent is done."""
