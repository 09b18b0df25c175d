"""What only a licensed technician decides: live termites, and walls that nobody can reach."""

from django.urls import path

from portal.office.referrals import noting_views, views

urlpatterns = [
    path("sites/<uuid:pk>/termites/", noting_views.termites_new, name="termites_new"),
    path("runs/<uuid:pk>/access/", noting_views.access_new, name="access_new"),
    path("<uuid:pk>/", views.referral, name="referral"),
    path("<uuid:pk>/decide/", views.decide, name="referral_decide"),
    path("<uuid:pk>/photos/", views.photos, name="referral_photos"),
]
