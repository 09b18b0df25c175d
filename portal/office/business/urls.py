"""The letterhead and the rule values."""

from django.urls import path

from portal.office.business import views

urlpatterns = [
    path("business/", views.business, name="business"),
]
