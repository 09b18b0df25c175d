"""Days asked for, offered and kept."""

from django.urls import path

from portal.office.bookings import views

urlpatterns = [
    path("sites/<uuid:pk>/booking/", views.booking, name="booking"),
    path("bookings/", views.bookings, name="bookings"),
    path("bookings/<uuid:pk>/cancel/", views.cancel, name="booking_cancel"),
    path("bookings/<uuid:pk>/turned-away/", views.turned_away, name="turned_away"),
    path("bookings/<uuid:pk>/treated/", views.treated, name="treated"),
]
