"""What every client page has in common: who may, in which role it reads, and that the opening is kept."""

import functools
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from labrecords import web
from labrecords.actions.access import record_opening
from labrecords.queries import access, portal


def for_clients(view: Callable) -> Callable:
    """A page for people of a client, drawn in the portal's role; for anybody else it does not exist."""

    @require_GET
    @functools.wraps(view)
    def shown(request: HttpRequest, **given) -> HttpResponse:
        # Asked before the role changes: it also reads the person's roles, which are closed afterwards.
        allowed = access.may(request.user, "read own reports")
        # No name has such a sign in it, and the database takes a NUL for an error.
        if not allowed or not request.path.isprintable():
            raise access.NotFound(request.path)
        with portal.as_portal(request.user.client_id):
            return view(request, **given)

    shown.needs = "read own reports"
    return shown


def keep_opening(request: HttpRequest, report, name: str) -> None:
    """Keep that the person opened the page, a specimen or a file of a report."""
    record_opening(report=report, name=name, by=request.user, at=web.now())
