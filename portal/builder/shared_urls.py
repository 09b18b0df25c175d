app_name = "shared"

urlpatterns = []
