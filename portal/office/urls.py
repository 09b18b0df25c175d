"""The office's addresses, room by room."""

from django.urls import include, path

app_name = "applicator"

urlpatterns = [
    path("", include("portal.office.bookings.urls")),
    path("", include("portal.office.business.urls")),
    path("", include("portal.office.home.urls")),
    path("", include("portal.office.items.urls")),
    path("", include("portal.office.levels.urls")),
    path("", include("portal.office.people.urls")),
    path("", include("portal.office.record.urls")),
    path("", include("portal.office.reports.urls")),
    path("", include("portal.office.review.urls")),
    path("", include("portal.office.sites.urls")),
    path("", include("portal.office.status.urls")),
    path("", include("portal.office.walls.urls")),
]
