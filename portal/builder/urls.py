from django.urls import path

from portal.builder import booking_views, confirming_views, fixing_views, sharing_views, site_views

app_name = "builder"

urlpatterns = [
    path("", site_views.home, name="home"),
    path("sites/", site_views.all_sites, name="sites"),
    path("sites/<uuid:pk>/", site_views.site, name="site"),
    path("sites/<uuid:pk>/items/", site_views.more_items, name="more_items"),
    path("sites/<uuid:pk>/history/", site_views.history, name="history"),
    path("reports/<uuid:pk>/", site_views.report, name="report"),
    path("items/<uuid:pk>/fixed/", fixing_views.say_fixed, name="say_fixed"),
    path("sites/<uuid:pk>/fixed/", fixing_views.say_fixed_many, name="say_fixed_many"),
    path("fixes/<uuid:pk>/take-back/", fixing_views.take_back, name="take_back"),
    path("items/<uuid:pk>/disagree/", fixing_views.disagree, name="disagree"),
    path("sites/<uuid:pk>/ready/", confirming_views.confirm, name="confirm"),
    path("reports/<uuid:pk>/sign/", confirming_views.sign, name="sign"),
    path("confirmations/<uuid:pk>/withdraw/", confirming_views.withdraw, name="withdraw"),
    path("sites/<uuid:pk>/book/", booking_views.book, name="book"),
    path("bookings/<uuid:pk>/accept/", booking_views.accept, name="accept"),
    path("bookings/<uuid:pk>/decline/", booking_views.decline, name="decline"),
    path("bookings/<uuid:pk>/cancel/", booking_views.cancel, name="cancel"),
    path("bookings/<uuid:pk>/treatment.ics", booking_views.calendar, name="calendar"),
    path("sites/<uuid:pk>/share/<slug:trade>/", sharing_views.share, name="share"),
    path("links/<uuid:pk>/revoke/", sharing_views.revoke, name="revoke"),
]
