"""What builders say is fixed, or dispute."""

from django.urls import path

from portal.office.review import views

urlpatterns = [
    path("<uuid:pk>/", views.review, name="review"),
    path("<uuid:pk>/accept/", views.accept_several, name="accept_several"),
    path("items/<uuid:pk>/accept/", views.accept, name="accept"),
    path("items/<uuid:pk>/seen/", views.accept_on_site, name="accept_on_site"),
    path("items/<uuid:pk>/send-back/", views.send_back, name="send_back"),
    path("items/<uuid:pk>/decide/", views.decide, name="decide"),
    path(
        "<uuid:pk>/withdraw-confirmation/",
        views.withdraw_confirmation,
        name="withdraw_confirmation",
    ),
]
