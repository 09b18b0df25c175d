"""Who may do what. Views show 404 for what a person may not see before an action is reached."""

import uuid

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
    """Only a contact of this site's builder who can see the site may go on."""
    if actor.is_applicator or not Site.objects.visible_to(actor).filter(pk=site.pk).exists():
        raise PermissionDenied(refusals.only_builder())
    _require_more_than_reading(actor, site)


def require_visible(actor: User, site: Site) -> None:
    """Anyone who can see the site and does not only read there may go on."""
    if not Site.objects.visible_to(actor).filter(pk=site.pk).exists():
        raise PermissionDenied(refusals.not_your_site())
    _require_more_than_reading(actor, site)


def _require_more_than_reading(actor: User, site: Site) -> None:
    if not actor.is_applicator and not may_act(actor, site):
        raise PermissionDenied(refusals.only_reads())


def may_act(actor: User, site: Site) -> bool:
    """Whether a contact does more than read for the site's builder, whatever they do elsewhere."""
    membership = actor.membership_in(site.builder_id)
    return membership is not None and membership.may_act


def require_administrator(actor: User, builder_id: uuid.UUID) -> None:
    """Only an administrator of that builder may go on."""
    membership = actor.membership_in(builder_id) if actor.is_active else None
    if membership is None or not membership.is_administrator:
        raise PermissionDenied(refusals.only_administrator())
