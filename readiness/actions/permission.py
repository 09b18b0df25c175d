"""Who may do what. Views show 404 for what a person may not see before an action is reached."""

from django.core.exceptions import PermissionDenied

from readiness.models import Site, User
from readiness.wording.refusals import people as refusals


def require_applicator(actor: User) -> None:
    """Only the applicator's staff may go on."""
    if not (actor.is_active and actor.is_applicator):
        raise PermissionDenied(refusals.only_staff())


def require_owner(actor: User) -> None:
    """Only the owner of the business's account may go on."""
    require_applicator(actor)
    if not actor.is_owner:
        raise PermissionDenied(refusals.only_owner())


def require_contact(actor: User, site: Site) -> None:
    """Only a builder contact who can see the site may go on."""
    if actor.is_applicator or not Site.objects.visible_to(actor).filter(pk=site.pk).exists():
        raise PermissionDenied(refusals.only_builder())


def require_visible(actor: User, site: Site) -> None:
    """Anyone who can see the site may go on."""
    if not Site.objects.visible_to(actor).filter(pk=site.pk).exists():
        raise PermissionDenied(refusals.not_your_site())
