"""The letterhead, the rule values and the local days off."""

from django.urls import path

from portal.office.business import days_off, preview_views, rule_values, views

urlpatterns = [
    path("", views.business, name="business"),
    path("preview/<slug:kind>/", preview_views.preview, name="preview"),
    path("days-off/", days_off.days_off, name="days_off"),
    path("days-off/new/", days_off.day_off_new, name="day_off_new"),
    path("days-off/<uuid:pk>/", days_off.day_off, name="day_off"),
    path("days-off/<uuid:pk>/remove/", days_off.day_off_remove, name="day_off_remove"),
    path("rule-values/", rule_values.rule_values_page, name="rules"),
]
