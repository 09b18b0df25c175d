app_name = "builder"

urlpatterns = []
