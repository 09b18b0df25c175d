"""Levels of walls, and quantities."""

from django.urls import path

from portal.office.levels import quantities, views

urlpatterns = [
    path("<uuid:pk>/", views.site_levels, name="levels"),
    path("<uuid:pk>/quantities/", quantities.quantities, name="quantities"),
    path("runs/<uuid:pk>/", views.run_levels, name="run_levels"),
    path("runs/<uuid:pk>/check/", views.run_levels_check, name="run_levels_check"),
]
