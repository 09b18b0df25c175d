"""The builder's addresses: each room's begin with its name."""

from django.urls import include, path

app_name = "builder"

urlpatterns = [
    path("", include("portal.builder.home.urls")),
    path("sites/", include("portal.builder.sites.urls")),
    path("fixing/", include("portal.builder.fixing.urls")),
    path("confirming/", include("portal.builder.confirming.urls")),
    path("booking/", include("portal.builder.booking.urls")),
    path("sharing/", include("portal.builder.sharing.urls")),
    path("team/", include("portal.builder.team.urls")),
]
