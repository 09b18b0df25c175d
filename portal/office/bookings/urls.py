"""Days asked for, offered and kept."""

from django.urls import path

from portal.office.bookings import views

urlpatterns = [
    path("sites/<uuid:pk>/", views.booking, name="booking"),
    path("", views.bookings, name="bookings"),
    path("<uuid:pk>/cancel/", views.cancel, name="booking_cancel"),
    path("<uuid:pk>/put-off/", views.put_off, name="booking_put_off"),
    path("<uuid:pk>/turned-away/", views.turned_away, name="turned_away"),
    path("<uuid:pk>/treated/", views.treated, name="treated"),
]
