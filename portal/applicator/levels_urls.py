"""Addresses of levels, quantities and rule values; part of the applicator's."""

from django.urls import path

from portal.applicator import levels_tables, levels_views

urlpatterns = [
    path("sites/<uuid:pk>/levels/", levels_views.site_levels, name="levels"),
    path("sites/<uuid:pk>/quantities/", levels_tables.quantities, name="quantities"),
    path("runs/<uuid:pk>/levels/", levels_views.run_levels, name="run_levels"),
    path("runs/<uuid:pk>/levels/check/", levels_views.run_levels_check, name="run_levels_check"),
    path("rule-values/", levels_tables.rule_values_page, name="rules"),
]
