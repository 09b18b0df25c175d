"""Sites and their list."""

from django.urls import path

from portal.office.sites import views

urlpatterns = [
    path("", views.sites, name="sites"),
    path("new/", views.site_new, name="site_new"),
    path("<uuid:pk>/", views.site, name="site"),
    path("<uuid:pk>/edit/", views.site_edit, name="site_edit"),
    path("<uuid:pk>/close/", views.site_close, name="site_close"),
    path("<uuid:pk>/reopen/", views.site_reopen, name="site_reopen"),
    path("<uuid:pk>/rain/", views.rain, name="rain"),
]
