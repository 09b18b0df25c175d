"""What is said when nobody can tell from where a request comes: to who runs the portal."""

from __future__ import annotations

from django.utils.translation import gettext as _


def unset() -> str:
    return _(
        "People reach the portal through a proxy, and READINESS_PROXY_COUNT is 0: everybody seems "
        "to come from one address, so wrong passwords of one person lock everybody out. Whoever "
        "runs the portal has to set READINESS_PROXY_COUNT to the number of proxies in front (1 "
        "for nginx alone) and start it again."
    )


def no_address() -> str:
    return _(
        "The portal can't tell who asks: it is served on a socket, and no proxy that it trusts "
        "says the address. Set READINESS_PROXY_COUNT=1, and let the proxy set X-Forwarded-For."
    )


def too_few(count: int, found: int) -> str:
    """`count` is what is set, `found` how many the request names."""
    return _(
        "READINESS_PROXY_COUNT is %(count)d, and this request came through %(found)d. Set it to "
        "the number of proxies in front that set X-Forwarded-For."
    ) % {"count": count, "found": found}


def demo_elsewhere() -> str:
    return _(
        "This is the demo: everybody who reaches it can sign in, so it answers only on the "
        "machine that it runs on. Open it there, or set up the portal as README says."
    )
