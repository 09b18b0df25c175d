"""Showing that items are fixed, and disputing them."""

from django.urls import path

from portal.builder.fixing import views

urlpatterns = [
    path("items/<uuid:pk>/", views.report_fixed, name="report_fixed"),
    path("sites/<uuid:pk>/", views.report_fixed_many, name="report_fixed_many"),
    path("fixes/<uuid:pk>/take-back/", views.take_back, name="take_back"),
    path("items/<uuid:pk>/dispute/", views.disagree, name="disagree"),
]
