from django.urls import path

from portal.photos import compare_views, marking_views, retention_views, views

app_name = "photos"

urlpatterns = [
    path("upload/<uuid:site_id>/", views.upload, name="upload"),
    path("old/", retention_views.old, name="old"),
    path("<uuid:photo_id>/", views.detail, name="detail"),
    path("<uuid:photo_id>/discard/", views.discard, name="discard"),
    path("<uuid:photo_id>/replace-papers/", views.replace, name="replace_papers"),
    path("<uuid:photo_id>/delete/", retention_views.delete, name="delete"),
    path("<uuid:photo_id>/original/", views.original, name="original"),
    path("<uuid:photo_id>/markup/", marking_views.markup, name="markup"),
    path("<uuid:photo_id>/measure/", marking_views.measure, name="measure"),
    path("<uuid:photo_id>/compare/", compare_views.compare, name="compare"),
    path("<uuid:photo_id>/compare/<uuid:before_id>/", compare_views.compare, name="compare_with"),
    path("<uuid:photo_id>/<str:size>/", views.size, name="size"),
]
