"""Every address of the portal, grouped by who it is for."""

from django.urls import include, path

from portal import health, views

urlpatterns = [
    path("", views.home, name="home"),
    path("cautions/", views.cautions, name="cautions"),
    path("about/", views.about, name="about"),
    path("healthz", health.live, name="live"),
    path("readyz", health.ready, name="ready"),
    path("accounts/", include("portal.accounts.sign_in_urls")),
    path("accounts/", include("portal.accounts.urls")),
    path("office/", include("portal.office.urls")),
    path("builder/", include("portal.builder.urls")),
    path("photos/", include("portal.photos.urls")),
    path("papers/", include("portal.papers.urls")),
    path("trade/", include("portal.trade.urls")),
    path("check/", include("portal.public.urls")),
    path("", include("portal.earlier_addresses")),
]

handler400 = "portal.views.bad_request"
handler403 = "portal.views.permission_denied"
handler404 = "portal.views.page_not_found"
handler500 = "portal.views.server_error"
