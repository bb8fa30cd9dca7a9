"""What every client page has in common: who may, in which role it reads, and that the opening is kept."""

import functools
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET, require_POST

from labrecords import web
from labrecords.actions.access import record_opening
from labrecords.queries import access, portal


def for_clients(act: str) -> Callable:
    """A page for people of a client, drawn in the portal's role; for anybody else it does not exist."""

    def decorate(view: Callable) -> Callable:
        @require_GET
        @functools.wraps(view)
        def shown(request: HttpRequest, **given) -> HttpResponse:
            # Asked before the role changes: it also reads the person's roles, which are closed afterwards.
            _demand(request, act)
            with portal.as_portal(request.user.client_id):
                return view(request, **given)

        shown.needs = act
        return shown

    return decorate


def for_answers(act: str) -> Callable:
    """A form of people of a client. The view reads in the portal's role by itself, and acts outside it."""

    def decorate(view: Callable) -> Callable:
        @require_POST
        @functools.wraps(view)
        def sent(request: HttpRequest, **given) -> HttpResponse:
            _demand(request, act)
            return view(request, **given)

        sent.needs = act
        return sent

    return decorate


def _demand(request: HttpRequest, act: str) -> None:
    # No name has such a sign in it, and the database takes a NUL for an error.
    if not access.may(request.user, act) or not request.path.isprintable():
        raise access.NotFound(request.path)


def keep_opening(request: HttpRequest, report, name: str) -> None:
    """Keep that the person opened the page, a specimen or a file of a report."""
    record_opening(report=report, name=name, by=request.user, at=web.now())
