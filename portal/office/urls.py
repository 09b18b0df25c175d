"""The office's addresses: each room's begin with its name."""

from django.urls import include, path

app_name = "office"

urlpatterns = [
    path("", include("portal.office.home.urls")),
    path("status/", include("portal.office.status.urls")),
    path("security/", include("portal.office.security.urls")),
    path("sites/", include("portal.office.sites.urls")),
    path("walls/", include("portal.office.walls.urls")),
    path("levels/", include("portal.office.levels.urls")),
    path("record/", include("portal.office.record.urls")),
    path("reports/", include("portal.office.reports.urls")),
    path("items/", include("portal.office.items.urls")),
    path("referrals/", include("portal.office.referrals.urls")),
    path("review/", include("portal.office.review.urls")),
    path("bookings/", include("portal.office.bookings.urls")),
    path("business/", include("portal.office.business.urls")),
    path("people/", include("portal.office.people.urls")),
    path("imports/", include("portal.office.imports.urls")),
]
