"""The addresses that the frame of every page, and its parts, link to."""

from django.http import HttpResponse
from django.urls import path


def empty(request):
    return HttpResponse()


urlpatterns = [
    path("help/", empty, name="help"),
    path("sign-out/", empty, name="sign-out"),
    path("limits/", empty, name="limits"),
]
