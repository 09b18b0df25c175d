"""Items of a report."""

from django.urls import path

from portal.office.items import views

urlpatterns = [
    path("reports/<uuid:pk>/new/", views.item_new, name="item_new"),
    path("reports/<uuid:pk>/check/", views.item_check, name="item_check"),
    path("<uuid:pk>/", views.item, name="item"),
    path("<uuid:pk>/edit/", views.item_edit, name="item_edit"),
    path("<uuid:pk>/remove/", views.item_remove, name="item_remove"),
]
