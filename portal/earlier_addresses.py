"""Addresses of earlier versions: in e-mails, on papers, in bookmarks and on open pages.

Each leads to where its page stands now. What is sent along (a form of a page that was open during
an upgrade, what was searched for) goes there too.
"""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import path, reverse
from django.views.decorators.csrf import csrf_exempt

EARLIER = (
    ("office/sites/<uuid:pk>/walls/", "office:walls"),
    ("office/sites/<uuid:pk>/walls/plan/", "office:walls_plan"),
    ("office/sites/<uuid:pk>/walls/copy/", "office:walls_copy"),
    ("office/sites/<uuid:pk>/levels/", "office:levels"),
    ("office/sites/<uuid:pk>/quantities/", "office:quantities"),
    ("office/runs/<uuid:pk>/levels/", "office:run_levels"),
    ("office/runs/<uuid:pk>/levels/check/", "office:run_levels_check"),
    ("office/sites/<uuid:pk>/record/", "office:record"),
    ("office/sites/<uuid:pk>/photos/", "office:photos"),
    ("office/sites/<uuid:pk>/emails/", "office:emails"),
    ("office/emails/<uuid:pk>/retry/", "office:email_retry"),
    ("office/emails/<uuid:pk>/drop/", "office:email_drop"),
    ("office/sites/<uuid:pk>/report/", "office:report_start"),
    ("office/reports/<uuid:pk>/items/new/", "office:item_new"),
    ("office/reports/<uuid:pk>/items/check/", "office:item_check"),
    ("office/sites/<uuid:pk>/review/", "office:review"),
    ("office/sites/<uuid:pk>/accept/", "office:accept_several"),
    ("office/items/<uuid:pk>/accept/", "office:accept"),
    ("office/items/<uuid:pk>/seen/", "office:accept_on_site"),
    ("office/items/<uuid:pk>/send-back/", "office:send_back"),
    ("office/items/<uuid:pk>/decide/", "office:decide"),
    ("office/sites/<uuid:pk>/withdraw-confirmation/", "office:withdraw_confirmation"),
    ("office/sites/<uuid:pk>/booking/", "office:booking"),
    ("office/rule-values/", "office:rules"),
    ("office/builders/", "office:builders"),
    ("office/builders/new/", "office:builder_new"),
    ("office/builders/<uuid:pk>/", "office:builder"),
    ("office/builders/<uuid:pk>/edit/", "office:builder_edit"),
    ("accounts/builders/<uuid:builder_id>/invite/", "office:invite"),
    ("accounts/contacts/<int:pk>/", "office:contact"),
    ("accounts/contacts/<int:pk>/switch/", "office:switch_contact"),
    ("accounts/contacts/<int:pk>/remove/", "office:remove_contact"),
    ("accounts/invitations/<uuid:pk>/resend/", "office:resend_invitation"),
    ("accounts/invitations/<uuid:pk>/revoke/", "office:revoke_invitation"),
    ("accounts/staff/", "office:staff"),
    ("accounts/staff/invite/", "office:invite_staff"),
    ("accounts/staff/<uuid:pk>/change/", "office:change_staff"),
    ("papers/preview/<slug:kind>/", "office:preview"),
    ("my/", "builder:home"),
    ("my/sites/", "builder:sites"),
    ("my/sites/<uuid:pk>/", "builder:site"),
    ("my/sites/<uuid:pk>/items/", "builder:more_items"),
    ("my/sites/<uuid:pk>/history/", "builder:history"),
    ("my/reports/<uuid:pk>/", "builder:report"),
    ("my/items/<uuid:pk>/fixed/", "builder:report_fixed"),
    ("my/sites/<uuid:pk>/fixed/", "builder:report_fixed_many"),
    ("my/fixes/<uuid:pk>/take-back/", "builder:take_back"),
    ("my/items/<uuid:pk>/disagree/", "builder:disagree"),
    ("my/sites/<uuid:pk>/ready/", "builder:confirm"),
    ("my/reports/<uuid:pk>/sign/", "builder:sign"),
    ("my/confirmations/<uuid:pk>/withdraw/", "builder:withdraw"),
    ("my/sites/<uuid:pk>/book/", "builder:book"),
    ("my/bookings/<uuid:pk>/accept/", "builder:accept"),
    ("my/bookings/<uuid:pk>/decline/", "builder:decline"),
    ("my/bookings/<uuid:pk>/cancel/", "builder:cancel"),
    ("my/bookings/<uuid:pk>/treatment.ics", "builder:calendar"),
    ("my/sites/<uuid:pk>/share/<slug:trade>/", "builder:share"),
    ("my/links/<uuid:pk>/revoke/", "builder:revoke"),
    ("shared/<str:token>/", "trade:trade_list"),
    ("shared/<str:token>/photos/<uuid:photo_id>/<str:size>/", "trade:photo"),
)
"""(route up to version 0.2, name of the page that stood there)"""


class Moved(HttpResponseRedirect):
    """A redirect that keeps method and body (RFC 9110, 15.4.9)."""

    status_code = 308


@csrf_exempt
@login_not_required
def lead_on(request, name: str, **ids) -> HttpResponse:
    """To the page of that name, which asks for itself who may see it and where a form is from."""
    query = request.META["QUERY_STRING"]
    return Moved(reverse(name, kwargs=ids) + (f"?{query}" if query else ""))


urlpatterns = [path(route, lead_on, {"name": name}) for route, name in EARLIER]
