"""Sites and their list."""

from django.urls import path

from portal.builder.sites import views

urlpatterns = [
    path("", views.all_sites, name="sites"),
    path("<uuid:pk>/", views.site, name="site"),
    path("<uuid:pk>/items/", views.more_items, name="more_items"),
    path("<uuid:pk>/history/", views.history, name="history"),
    path("reports/<uuid:pk>/", views.report, name="report"),
]
