from django.urls import path

from portal.photos import views

app_name = "photos"

urlpatterns = [
    path("upload/<uuid:site_id>/", views.upload, name="upload"),
    path("<uuid:photo_id>/", views.detail, name="detail"),
    path("<uuid:photo_id>/discard/", views.discard, name="discard"),
    path("<uuid:photo_id>/original/", views.original, name="original"),
    path("<uuid:photo_id>/<str:size>/", views.size, name="size"),
]
