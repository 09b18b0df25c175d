"""The portal's own account pages; django-allauth's are in sign_in_urls."""

from django.urls import path

from portal.accounts import views
from portal.office.people import removal_views
from portal.office.people import views as people_views

app_name = "accounts"

urlpatterns = [
    path("", views.profile, name="profile"),
    path("invitation/<str:token>/", views.invitation, name="invitation"),
    path("demo/<str:token>/", views.demo_sign_in, name="demo_sign_in"),
    path("builders/<uuid:builder_id>/invite/", people_views.invite, name="invite"),
    path("contacts/<int:pk>/", people_views.contact, name="contact"),
    path("contacts/<int:pk>/switch/", people_views.switch_contact, name="switch_contact"),
    path("contacts/<int:pk>/remove/", removal_views.remove_contact, name="remove_contact"),
    path("invitations/<uuid:pk>/resend/", people_views.resend, name="resend_invitation"),
    path("invitations/<uuid:pk>/revoke/", people_views.revoke, name="revoke_invitation"),
    path("staff/", people_views.staff, name="staff"),
    path("staff/invite/", people_views.invite_staff, name="invite_staff"),
    path("staff/<uuid:pk>/change/", people_views.change_staff, name="change_staff"),
]
