"""Reports: walking, issuing, reading."""

from django.urls import path

from portal.office.reports import issue_views, views

urlpatterns = [
    path("sites/<uuid:pk>/start/", views.report_start, name="report_start"),
    path("<uuid:pk>/", views.report, name="report"),
    path("<uuid:pk>/head/", views.report_head, name="report_head"),
    path("<uuid:pk>/drop/", views.report_drop, name="report_drop"),
    path("<uuid:pk>/runs/<uuid:run_id>/check/", views.run_check, name="run_check"),
    path("<uuid:pk>/runs/<uuid:run_id>/shown/", views.run_shown, name="run_shown"),
    path("<uuid:pk>/issue/", issue_views.issue, name="issue"),
    path("<uuid:pk>/dates/", issue_views.renew_dates, name="renew_dates"),
    path("<uuid:pk>/issued/", issue_views.issued, name="issued"),
]
