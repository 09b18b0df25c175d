from django.urls import path

from portal.public import check_views

app_name = "public"

urlpatterns = [
    path("", check_views.check, name="check"),
]
