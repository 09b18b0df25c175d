"""Sites that come from another installation."""

from django.urls import path

from portal.office.imports import views

urlpatterns = [
    path("", views.imports, name="imports"),
    path("decide/", views.decide, name="import_decide"),
]
