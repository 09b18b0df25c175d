"""The screens of django-allauth that the portal uses; there is no sign-up and no social login."""

from django.urls import include, path

urlpatterns = [path("", include("allauth.urls"))]
