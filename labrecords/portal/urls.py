"""Addresses of the client pages."""

from django.urls import path

from . import files, reports

app_name = "portal"
urlpatterns = [
    path("", reports.reports, name="reports"),
    path("<str:number>/", reports.newest, name="newest"),
    path("<str:number>/<int:issue>/", reports.report, name="report"),
    path("<str:number>/<int:issue>/specimens/<str:label>/", reports.specimen, name="specimen"),
    path("<str:number>/<int:issue>/files.zip", files.every_file, name="every-file"),
    path("<str:number>/<int:issue>/files/<str:name>", files.file, name="file"),
]
