"""The letterhead and the rule values."""

from django.urls import path

from portal.office.business import views

urlpatterns = [
    path("", views.business, name="business"),
]
