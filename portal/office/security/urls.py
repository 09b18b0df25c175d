"""The security log."""

from django.urls import path

from portal.office.security import views

urlpatterns = [
    path("", views.security, name="security"),
]
