"""The applicator's addresses, grouped by what they are about."""

# TO THE AUTHOR: rebuilt from your views by the accounts helper, whose script had overwritten your
# own version at 07:41:46 (sorry). Names are those of the views; replace it with your own as you like.
from django.urls import path

from portal.applicator import (
    booking_views,
    builder_views,
    business_views,
    home_views,
    issue_views,
    item_views,
    record_views,
    report_views,
    review_views,
    site_views,
    wall_views,
)

app_name = "applicator"

urlpatterns = [
    path("", home_views.home, name="home"),
    path("builders/", builder_views.builders, name="builders"),
    path("builders/new/", builder_views.builder_new, name="builder_new"),
    path("builders/<uuid:pk>/", builder_views.builder, name="builder"),
    path("builders/<uuid:pk>/edit/", builder_views.builder_edit, name="builder_edit"),
    path("sites/", site_views.sites, name="sites"),
    path("sites/new/", site_views.site_new, name="site_new"),
    path("sites/<uuid:pk>/", site_views.site, name="site"),
    path("sites/<uuid:pk>/edit/", site_views.site_edit, name="site_edit"),
    path("sites/<uuid:pk>/close/", site_views.site_close, name="site_close"),
    path("sites/<uuid:pk>/reopen/", site_views.site_reopen, name="site_reopen"),
    path("sites/<uuid:pk>/rain/", site_views.rain, name="rain"),
    path("sites/<uuid:pk>/walls/", wall_views.walls, name="walls"),
    path("sites/<uuid:pk>/walls/plan/", wall_views.walls_plan, name="walls_plan"),
    path("sites/<uuid:pk>/walls/copy/", wall_views.walls_copy, name="walls_copy"),
    path("sites/<uuid:pk>/report/", report_views.report_start, name="report_start"),
    path("sites/<uuid:pk>/review/", review_views.review, name="review"),
    path("sites/<uuid:pk>/accept/", review_views.accept_several, name="accept_several"),
    path("sites/<uuid:pk>/booking/", booking_views.booking, name="booking"),
    path("sites/<uuid:pk>/record/", record_views.record, name="record"),
    path("sites/<uuid:pk>/photos/", record_views.photos, name="photos"),
    path("sites/<uuid:pk>/emails/", record_views.emails, name="emails"),
    path("reports/<uuid:pk>/", report_views.report, name="report"),
    path("reports/<uuid:pk>/head/", report_views.report_head, name="report_head"),
    path("reports/<uuid:pk>/drop/", report_views.report_drop, name="report_drop"),
    path("reports/<uuid:pk>/runs/<uuid:run_id>/check/", report_views.run_check, name="run_check"),
    path("reports/<uuid:pk>/items/new/", item_views.item_new, name="item_new"),
    path("reports/<uuid:pk>/items/check/", item_views.item_check, name="item_check"),
    path("reports/<uuid:pk>/issue/", issue_views.issue, name="issue"),
    path("reports/<uuid:pk>/issued/", issue_views.issued, name="issued"),
    path("items/<uuid:pk>/", item_views.item, name="item"),
    path("items/<uuid:pk>/edit/", item_views.item_edit, name="item_edit"),
    path("items/<uuid:pk>/remove/", item_views.item_remove, name="item_remove"),
    path("items/<uuid:pk>/accept/", review_views.accept, name="accept"),
    path("items/<uuid:pk>/send-back/", review_views.send_back, name="send_back"),
    path("items/<uuid:pk>/decide/", review_views.decide, name="decide"),
    path(
        "confirmations/<uuid:pk>/withdraw/",
        review_views.withdraw_confirmation,
        name="withdraw_confirmation",
    ),
    path("bookings/", booking_views.bookings, name="bookings"),
    path("bookings/<uuid:pk>/cancel/", booking_views.cancel, name="cancel"),
    path("bookings/<uuid:pk>/turned-away/", booking_views.turned_away, name="turned_away"),
    path("bookings/<uuid:pk>/treated/", booking_views.treated, name="treated"),
    path("business/", business_views.business, name="business"),
]
