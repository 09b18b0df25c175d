"""Builders, their people, and the office's own."""

from django.urls import path

from portal.office.people import builder_views, licence_views, removal_views, views

urlpatterns = [
    path("builders/", builder_views.builders, name="builders"),
    path("builders/new/", builder_views.builder_new, name="builder_new"),
    path("builders/<uuid:pk>/", builder_views.builder, name="builder"),
    path("builders/<uuid:pk>/edit/", builder_views.builder_edit, name="builder_edit"),
    path("builders/<uuid:builder_id>/invite/", views.invite, name="invite"),
    path("contacts/<int:pk>/", views.contact, name="contact"),
    path("contacts/<int:pk>/switch/", views.switch_contact, name="switch_contact"),
    path("contacts/<int:pk>/sign-out/", views.sign_out_contact, name="sign_out_contact"),
    path("contacts/<int:pk>/remove/", removal_views.remove_contact, name="remove_contact"),
    path("invitations/<uuid:pk>/resend/", views.resend, name="resend_invitation"),
    path("invitations/<uuid:pk>/revoke/", views.revoke, name="revoke_invitation"),
    path("staff/", views.staff, name="staff"),
    path("staff/invite/", views.invite_staff, name="invite_staff"),
    path("staff/<uuid:pk>/change/", views.change_staff, name="change_staff"),
    path("staff/<uuid:pk>/licence/", licence_views.staff_licence, name="staff_licence"),
]
