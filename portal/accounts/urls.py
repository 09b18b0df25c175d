"""The portal's own account pages; django-allauth's are in sign_in_urls."""

from django.urls import path

from portal.accounts import proof, views

app_name = "accounts"

urlpatterns = [
    path("", views.profile, name="profile"),
    path("invitation/<str:token>/", views.invitation, name="invitation"),
    path("code/", proof.own_code, name="own_code"),
    path("demo/<str:token>/", views.demo_sign_in, name="demo_sign_in"),
]
