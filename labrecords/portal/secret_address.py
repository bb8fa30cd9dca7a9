"""Takes the secret out of a link's address before anything reads it, and says on every answer to keep it."""

import re
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from labrecords.queries import links

# However it was typed: what is no address of ours may still hold a secret.
ADDRESS = re.compile(r"/+shared/+(?P<secret>[^/]+)(?P<rest>.*)", re.IGNORECASE | re.DOTALL)
HIDDEN = "/shared/(secret)/"
RAW = ("PATH_INFO", "REQUEST_URI", "RAW_URI")
HEADERS = {"Referrer-Policy": "no-referrer", "Cache-Control": "no-store", "X-Robots-Tag": "noindex"}


class SecretAddress:
    """The outermost middleware: pages, log lines and error reports are given a link's hash, or nothing of it.

    Nobody is signed in under such an address, whatever cookies came along.
    """

    def __init__(self, get_response: Callable) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        found = ADDRESS.fullmatch(request.path_info)
        if found is None:
            return self.get_response(request)
        if request.is_secure() or not settings.SECURE_SSL_REDIRECT:  # else it is only led on, to the same address
            _hide(request, found)
        response = self.get_response(request)
        for name, value in HEADERS.items():
            response.headers[name] = value
        return response


def _hide(request: HttpRequest, found: re.Match[str]) -> None:
    request.path_info = f"/shared/{links.digest(found['secret'])}{found['rest']}"
    request.path = HIDDEN
    for name in RAW:
        if name in request.META:
            request.META[name] = HIDDEN
    request.META.pop("HTTP_COOKIE", None)
    request.COOKIES = {}
