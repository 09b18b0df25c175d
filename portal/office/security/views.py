"""Who signed in as whom, what was refused, and who changed rights and settings. For owners."""

from collections.abc import Callable, Iterable
from urllib.parse import urlencode

from django.conf import settings
from django.db.models import Q
from django.shortcuts import render

from portal.paging import pages_of
from portal.requests.access import applicator_required
from portal.requests.ids import as_uuid
from readiness.actions.permission import require_owner
from readiness.models import Invitation, SecurityEvent, Site, User
from readiness.wording.security import GROUPS, group_name, line

A_PAGE = 100


@applicator_required
def security(request):
    """The events, newest first: of one person, of one group, or all."""
    require_owner(request.user)
    group = request.GET.get("show", "")
    person = User.objects.filter(pk=as_uuid(request.GET.get("person"))).first()
    found = SecurityEvent.objects.all()
    if group in GROUPS:
        found = found.filter(kind__in=GROUPS[group][1])
    if person:
        found = found.filter(Q(account=person.pk) | Q(about=person.pk))
    page = pages_of(found, group or person, A_PAGE).get_page(request.GET.get("page"))
    events = list(page.object_list)
    name_of = names(events)
    context = {
        "page": page,
        "lines": [line(event, name_of) for event in events],
        "group": group if group in GROUPS else "",
        "groups": [(name, group_name(name)) for name in GROUPS],
        "person": person,
        "query": urlencode({"show": group, **({"person": person.pk} if person else {})}) + "&",
        "days": settings.READINESS_SECURITY_LOG_DAYS,
    }
    return render(request, "portal/office/security/security.html", context)


def names(events: Iterable[SecurityEvent]) -> Callable[[object], str]:
    """A function from the id of an account, site or invitation to its name, in three queries."""
    found: dict[str, str] = {}
    about = [one for event in events for one in (event.account, event.about) if one]
    people = User.objects.filter(pk__in=about).prefetch_related("memberships__builder")
    found |= {str(person.pk): _with_builder(person) for person in people}
    for model, key in ((Site, "site"), (Invitation, "invitation")):
        ids = [as_uuid(event.details[key]) for event in events if key in event.details]
        found |= {str(pk): _name(row) for pk, row in model.objects.in_bulk(ids).items()}
    return lambda pk: found.get(str(pk or ""), "")


def _with_builder(person: User) -> str:
    builders = ", ".join(sorted(str(one.builder) for one in person.memberships.all()))
    return f"{person} ({builders})" if builders else str(person)


def _name(row: Site | Invitation) -> str:
    return row.email if isinstance(row, Invitation) else str(row)
