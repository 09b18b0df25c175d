"""Whether the builder hears of what the office just did, for the message after it."""

from django.utils.translation import gettext as _

from readiness.messages.outbox import builder_side
from readiness.models import Site


def told(site: Site) -> str:
    """That the builder gets an e-mail; where nobody there does, that somebody has to ring."""
    if builder_side(site):
        return _("The builder gets an e-mail.")
    said = _("Nobody at %(builder)s gets e-mails about this site: tell them yourself.")
    return said % {"builder": site.builder}


def told_why(site: Site) -> str:
    """The same of an e-mail that gives the reason."""
    return _("The builder gets an e-mail that says why.") if builder_side(site) else told(site)
