"""Links for trades without an account."""

from django.urls import path

from portal.builder.sharing import views

urlpatterns = [
    path("sites/<uuid:pk>/<slug:trade>/", views.share, name="share"),
    path("links/<uuid:pk>/revoke/", views.revoke, name="revoke"),
]
