"""Confirming that a site is ready."""

from django.urls import path

from portal.builder.confirming import views

urlpatterns = [
    path("<uuid:pk>/", views.confirm, name="confirm"),
    path("reports/<uuid:pk>/sign/", views.sign, name="sign"),
    path("confirmations/<uuid:pk>/withdraw/", views.withdraw, name="withdraw"),
]
