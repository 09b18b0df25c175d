app_name = "photos"

urlpatterns = []
