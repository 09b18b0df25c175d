"""Sessions in which somebody showed who they are, as django-allauth keeps it there."""

from allauth.account.internal.flows.login import (
    _AUTHENTICATION_METHODS_USER_SESSION_KEY as OWNER,
)
from allauth.account.internal.flows.login import AUTHENTICATION_METHODS_SESSION_KEY as METHODS

from readiness import clock


def proved(client, person, method="code", *, at=None, **said):
    """The same browser, after its person entered a code sent to their address (or `method`)."""
    session = client.session
    prove(session, person, method, at=at, **said)
    session.save()
    return client


def prove(session, person, method="code", *, at=None, **said) -> None:
    """The same, into a session that is still to be saved."""
    given = {"method": method, "at": (at or clock.now()).timestamp()}
    if method == "code":
        given["email"] = person.email
    session[METHODS] = [*session.get(METHODS, []), {**given, **said}]
    session[OWNER] = str(person.pk)
