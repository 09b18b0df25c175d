"""Addresses of papers: a site's list, and the PDFs themselves."""

from django.urls import path

from portal.papers import views

app_name = "papers"

urlpatterns = [
    path("sites/<uuid:pk>/", views.site, name="site"),
    path("sites/<uuid:pk>/guide/", views.guide, name="guide"),
    path("reports/<uuid:pk>/rule-values/", views.rule_values, name="rule_values"),
    path("<uuid:pk>/", views.paper, name="paper"),
    path("<uuid:pk>/retry/", views.retry, name="retry"),
    path("<uuid:pk>/edition/", views.edition, name="edition"),
]
