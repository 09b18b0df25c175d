"""The first page."""

from django.urls import path

from portal.builder.home import views

urlpatterns = [
    path("", views.home, name="home"),
]
