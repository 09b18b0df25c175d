"""The builder's own people."""

from django.urls import path

from portal.builder.team import views

urlpatterns = [
    path("", views.team, name="team"),
    path("contacts/<int:pk>/vouch/", views.vouch, name="vouch"),
]
