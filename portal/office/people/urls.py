"""Builders, their people, and the office's own."""

from django.urls import path

from portal.office.people import builder_views

urlpatterns = [
    path("builders/", builder_views.builders, name="builders"),
    path("builders/new/", builder_views.builder_new, name="builder_new"),
    path("builders/<uuid:pk>/", builder_views.builder, name="builder"),
    path("builders/<uuid:pk>/edit/", builder_views.builder_edit, name="builder_edit"),
]
