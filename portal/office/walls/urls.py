"""A site's walls."""

from django.urls import path

from portal.office.walls import views

urlpatterns = [
    path("sites/<uuid:pk>/walls/", views.walls, name="walls"),
    path("sites/<uuid:pk>/walls/plan/", views.walls_plan, name="walls_plan"),
    path("sites/<uuid:pk>/walls/copy/", views.walls_copy, name="walls_copy"),
]
