app_name = "papers"

urlpatterns = []
