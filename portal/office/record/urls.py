"""A site's Record, photos and e-mails."""

from django.urls import path

from portal.office.record import export_views, views

urlpatterns = [
    path("business/", views.business, name="business_record"),
    path("<uuid:pk>/", views.record, name="record"),
    path("<uuid:pk>/photos/", views.photos, name="photos"),
    path("<uuid:pk>/emails/", views.emails, name="emails"),
    path("<uuid:pk>/export/", export_views.export, name="export"),
    path("emails/<uuid:pk>/retry/", views.email_retry, name="email_retry"),
    path("emails/<uuid:pk>/drop/", views.email_drop, name="email_drop"),
]
