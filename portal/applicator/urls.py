app_name = "applicator"

urlpatterns = []
