"""Items of a report."""

from django.urls import path

from portal.office.items import views

urlpatterns = [
    path("reports/<uuid:pk>/items/new/", views.item_new, name="item_new"),
    path("reports/<uuid:pk>/items/check/", views.item_check, name="item_check"),
    path("items/<uuid:pk>/", views.item, name="item"),
    path("items/<uuid:pk>/edit/", views.item_edit, name="item_edit"),
    path("items/<uuid:pk>/remove/", views.item_remove, name="item_remove"),
]
