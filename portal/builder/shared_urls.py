from django.urls import path

from portal.builder import shared_views

app_name = "shared"

urlpatterns = [
    path("<str:token>/", shared_views.trade_list, name="trade_list"),
    path("<str:token>/photos/<uuid:photo_id>/<str:size>/", shared_views.photo, name="photo"),
]
