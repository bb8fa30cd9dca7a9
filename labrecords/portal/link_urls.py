"""Addresses behind a link. What stands for the secret here is its hash: `secret_address.py` sees to that."""

from django.urls import path

from . import links

app_name = "linked"
urlpatterns = [
    path("<str:digest>/", links.report, name="report"),
    path("<str:digest>/specimens/<str:label>/", links.specimen, name="specimen"),
    path("<str:digest>/files.zip", links.every_file, name="every-file"),
    path("<str:digest>/files/<str:name>", links.file, name="file"),
    path("<str:digest>/<path:rest>", links.nothing, name="nothing"),
    path("<str:digest>", links.nothing, {"rest": ""}, name="cut-off"),
]
