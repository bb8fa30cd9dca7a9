"""The page for what went wrong here: something broke, or the database does not answer just now."""

import sys

from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, HttpResponse
from django.http.multipartparser import MultiPartParserError
from django.http.request import RawPostDataException, UnreadablePostError
from django.middleware.csrf import CsrfViewMiddleware, get_token
from django.template.loader import render_to_string

from labrecords.database.errors import RETRY_AFTER_S, UNREACHABLE

from .sessions import FORMS, typed

UNREADABLE = (MultiPartParserError, RawPostDataException, SuspiciousOperation, UnreadablePostError)


def fault(request: HttpRequest) -> HttpResponse:
    """Answer an exception that nothing else has answered. Asks nothing of the database, not even who is signed in."""
    if not isinstance(sys.exc_info()[1], UNREACHABLE):
        return HttpResponse(render_to_string("500.html"), status=500)
    context = {"path": request.get_full_path(), "was_sent": request.method == "POST"} | _carried(request)
    headers = {"Retry-After": str(RETRY_AFTER_S), "Cache-Control": "no-store"}
    return HttpResponse(render_to_string("503.html", context), status=503, headers=headers)


def _carried(request: HttpRequest) -> dict:
    """A form that was sent, for the page to send it again; nothing of one that another site may have sent."""
    if request.method != "POST" or request.content_type not in FORMS:
        return {}
    try:
        if _forged(request):
            return {}
        left_out = bool(request.FILES) or any("password" in name for name in request.POST)
        fields = {"shown": typed(request), "keyed": "key" in request.POST, "left_out": left_out}
    except UNREADABLE:
        return {}
    return fields | {"csrf_token": get_token(request)}


def _forged(request: HttpRequest) -> bool:
    """The guard against forged forms stands before a view, and the fault may have come before the guard."""
    guard = CsrfViewMiddleware(lambda _: HttpResponse())
    return guard.process_view(request, fault, (), {}) is not None
