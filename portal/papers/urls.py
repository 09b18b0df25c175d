"""Addresses of papers: a site's list, the PDFs themselves, and previews of the letterhead."""

from django.urls import path

from portal.papers import preview_views, views

app_name = "papers"

urlpatterns = [
    path("sites/<uuid:pk>/", views.site, name="site"),
    path("sites/<uuid:pk>/guide/", views.guide, name="guide"),
    path("preview/<slug:kind>/", preview_views.preview, name="preview"),
    path("<uuid:pk>/", views.paper, name="paper"),
    path("<uuid:pk>/retry/", views.retry, name="retry"),
    path("<uuid:pk>/edition/", views.edition, name="edition"),
]
