"""What the installation says of itself."""

from django.urls import path

from portal.office.status import views

urlpatterns = [
    path("", views.status, name="status"),
]
