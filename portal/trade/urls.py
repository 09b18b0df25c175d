from django.urls import path

from portal.trade import views

app_name = "trade"

urlpatterns = [
    path("<str:token>/", views.trade_list, name="trade_list"),
    path("<str:token>/photos/<uuid:photo_id>/<str:size>/", views.photo, name="photo"),
]
