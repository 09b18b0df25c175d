"""The letterhead and the rule values."""

from django.urls import path

from portal.office.business import preview_views, rule_values, views

urlpatterns = [
    path("", views.business, name="business"),
    path("preview/<slug:kind>/", preview_views.preview, name="preview"),
    path("rule-values/", rule_values.rule_values_page, name="rules"),
]
