"""The first page."""

from django.urls import path

from portal.office.home import views

urlpatterns = [
    path("", views.home, name="home"),
]
