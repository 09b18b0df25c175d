"""Asking for a day, and answering an offer."""

from django.urls import path

from portal.builder.booking import views

urlpatterns = [
    path("sites/<uuid:pk>/", views.book, name="book"),
    path("bookings/<uuid:pk>/accept/", views.accept, name="accept"),
    path("bookings/<uuid:pk>/decline/", views.decline, name="decline"),
    path("bookings/<uuid:pk>/cancel/", views.cancel, name="cancel"),
    path("bookings/<uuid:pk>/treatment.ics", views.calendar, name="calendar"),
]
