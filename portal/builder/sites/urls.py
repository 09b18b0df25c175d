"""Sites and their list."""

from django.urls import path

from portal.builder.sites import views

urlpatterns = [
    path("", views.home, name="home"),
    path("sites/", views.all_sites, name="sites"),
    path("sites/<uuid:pk>/", views.site, name="site"),
    path("sites/<uuid:pk>/items/", views.more_items, name="more_items"),
    path("sites/<uuid:pk>/history/", views.history, name="history"),
    path("reports/<uuid:pk>/", views.report, name="report"),
]
