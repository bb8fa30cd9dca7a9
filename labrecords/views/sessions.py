"""How long somebody stays signed in, and what becomes of what they typed when that has ended."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta

from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from labrecords import web

IDLE = timedelta(minutes=30)
LONGEST = timedelta(hours=10)
NOTED = timedelta(minutes=1)  # how exactly the last request is remembered: not every one is written down
BY_ITSELF = "X-Asked-By-Itself"  # a page that keeps itself fresh is not somebody who reads it
SIGNED_IN, SEEN = "signed_in_at", "seen_at"
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
NOT_KEPT = ("csrfmiddlewaretoken", "password", "one_time_code", "passkey_answer")


class SessionLimits:
    """Signs out whoever was idle for too long, or has been signed in for a working day."""

    def __init__(self, get_response: Callable) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            self._limit(request, web.now())
        return self.get_response(request)

    def _limit(self, request: HttpRequest, now: datetime) -> None:
        signed_in, seen = (_moment(request.session.get(name)) for name in (SIGNED_IN, SEEN))
        if signed_in is None or seen is None:
            request.session[SIGNED_IN] = request.session[SEEN] = now.isoformat()
        elif now - signed_in > LONGEST or now - seen > IDLE:
            logout(request)
        elif now - seen > NOTED and BY_ITSELF not in request.headers:
            request.session[SEEN] = now.isoformat()


def _moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


class KeepsTyped(LoginRequiredMiddleware):
    """Pages are for people who have signed in; a form sent after that has ended is kept until they have again."""

    def handle_no_permission(self, request: HttpRequest, view_func: Callable) -> HttpResponse:
        """Ask for the sign-in on a page that carries what was typed; anything but a form goes the usual way."""
        if web.wants_json(request) and not request.path.startswith("/api/"):
            return JsonResponse({"outcome": "sign-in", "why": "Nobody is signed in."}, status=401)
        if request.method != "POST" or request.content_type not in FORMS or request.path.startswith("/api/"):
            return super().handle_no_permission(request, view_func)
        context = {"typed": json.dumps(typed(request)), "path": request.get_full_path(), "shown": typed(request)}
        return render(request, "registration/again.html", context, status=401)


def typed(request: HttpRequest) -> list[list[str]]:
    """Names and values of a form, but for passwords and what guards against forged forms."""
    return [
        [name, value]
        for name, values in request.POST.lists()
        if not any(part in name for part in NOT_KEPT)
        for value in values
    ]
