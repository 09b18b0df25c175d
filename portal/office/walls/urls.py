"""A site's walls."""

from django.urls import path

from portal.office.walls import views

urlpatterns = [
    path("<uuid:pk>/", views.walls, name="walls"),
    path("<uuid:pk>/plan/", views.walls_plan, name="walls_plan"),
    path("<uuid:pk>/copy/", views.walls_copy, name="walls_copy"),
]
