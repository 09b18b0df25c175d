"""Sites and their list."""

from django.urls import path

from portal.office.sites import views

urlpatterns = [
    path("sites/", views.sites, name="sites"),
    path("sites/new/", views.site_new, name="site_new"),
    path("sites/<uuid:pk>/", views.site, name="site"),
    path("sites/<uuid:pk>/edit/", views.site_edit, name="site_edit"),
    path("sites/<uuid:pk>/close/", views.site_close, name="site_close"),
    path("sites/<uuid:pk>/reopen/", views.site_reopen, name="site_reopen"),
    path("sites/<uuid:pk>/rain/", views.rain, name="rain"),
]
