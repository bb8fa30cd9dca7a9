"""Addresses of the client pages."""

from django.urls import path

from . import files, protocols, reports

app_name = "portal"
urlpatterns = [
    path("reports/", reports.reports, name="reports"),
    path("reports/<str:number>/", reports.newest, name="newest"),
    path("reports/<str:number>/<int:issue>/", reports.report, name="report"),
    path("reports/<str:number>/<int:issue>/specimens/<str:label>/", reports.specimen, name="specimen"),
    path("reports/<str:number>/<int:issue>/files.zip", files.every_file, name="every-file"),
    path("reports/<str:number>/<int:issue>/files/<str:name>", files.file, name="file"),
    path("protocols/", protocols.listed, name="protocols"),
    path("protocols/<str:code>/<int:version>/", protocols.one, name="protocol"),
    path("protocols/<str:code>/<int:version>/answer/", protocols.answer, name="answer-protocol"),
]
