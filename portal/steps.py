"""Where a next step leads."""

from uuid import UUID

from portal.addresses import address
from readiness.models import Site
from readiness.wording.saying import Step


def leads_to(step: Step, site: Site) -> str:
    """The address of a step that was said about a site."""
    return address(step.page, UUID(step.about) if step.about else site.pk) + step.place
