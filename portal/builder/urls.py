"""The builder's addresses, room by room."""

from django.urls import include, path

app_name = "builder"

urlpatterns = [
    path("", include("portal.builder.booking.urls")),
    path("", include("portal.builder.confirming.urls")),
    path("", include("portal.builder.fixing.urls")),
    path("", include("portal.builder.sharing.urls")),
    path("", include("portal.builder.sites.urls")),
]
