"""The client pages, and the addresses that the frame of every page names."""

from django.http import HttpResponse
from django.urls import include, path

FRAME = (
    *("home", "sign-in", "sign-out", "help"),
    *("studies", "bench", "reviews", "equipment", "people", "refusals"),
)


def empty(request):
    return HttpResponse()


urlpatterns = [
    path("reports/", include("labrecords.portal.urls")),
    *(path(f"{name}/", empty, name=name) for name in FRAME),
]
