"""How long somebody stays signed in, who takes over by badge, and what becomes of what they typed when it has ended.

A session begins with name and password. Until it is a working day old, a badge and a PIN put another person in charge
of it, for the bench's work, and bring back whoever was away for too long.
"""

import json
from collections.abc import Callable
from datetime import datetime, timedelta

from django.contrib.auth import login, logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from labrecords import web
from labrecords.queries import access

IDLE = timedelta(minutes=30)
IDLE_BY_BADGE = timedelta(minutes=10)  # coming back takes three seconds
LONGEST = timedelta(hours=10)
NOTED = timedelta(minutes=1)  # how exactly the last request is remembered: not every one is written down
BY_ITSELF = "X-Asked-By-Itself"  # a page that keeps itself fresh is not somebody who reads it
SIGNED_IN, SEEN = "signed_in_at", "seen_at"
BY_BADGE, OPENED = "by_badge", "opened_for_badges_at"
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
NOT_KEPT = ("csrfmiddlewaretoken", "password", "pin", "one_time_code", "passkey_answer")


def begin(request: HttpRequest, person) -> None:
    """Sign a person in who has shown all that is asked for."""
    login(request, person)
    for left in (BY_BADGE, OPENED):
        request.session.pop(left, None)
    request.session[SIGNED_IN] = request.session[SEEN] = web.now().isoformat()


def begin_by_badge(request: HttpRequest, person) -> None:
    """Sign a person in who has shown badge and PIN; the session ends no later than it would have."""
    opened = _opened(request)
    login(request, person)
    request.session.pop(OPENED, None)
    request.session.update({SIGNED_IN: opened.isoformat(), SEEN: web.now().isoformat(), BY_BADGE: True})


def lock(request: HttpRequest) -> None:
    """Sign out; at a bench, a badge and a PIN still do until the day is over."""
    opened = _opened(request)
    logout(request)
    if opened is not None:
        request.session[OPENED] = opened.isoformat()


def takes_badges(request: HttpRequest) -> bool:
    """Whether somebody who may work at a bench opened this session with name and password, within a working day."""
    opened = _opened(request)
    return opened is not None and web.now() - opened <= LONGEST


def _opened(request: HttpRequest) -> datetime | None:
    """When the session was opened for badges; None where it is not."""
    if not request.user.is_authenticated:
        return _moment(request.session.get(OPENED))
    return _moment(request.session.get(SIGNED_IN)) if access.may(request.user, "open a run") else None


class SessionLimits:
    """Signs out whoever was idle for too long, or has been signed in for a working day."""

    def __init__(self, get_response: Callable) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            self._limit(request, web.now())
        return self.get_response(request)

    def _limit(self, request: HttpRequest, now: datetime) -> None:
        request.user.by_badge = request.session.get(BY_BADGE, False)
        idle = IDLE_BY_BADGE if request.user.by_badge else IDLE
        signed_in, seen = (_moment(request.session.get(name)) for name in (SIGNED_IN, SEEN))
        if signed_in is None or seen is None:
            request.session[SIGNED_IN] = request.session[SEEN] = now.isoformat()
        elif now - signed_in > LONGEST or now - seen > idle:
            lock(request)
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
