"""What every client page has in common: who may, in which role it reads, and that the opening is kept."""

import functools
from collections.abc import Callable

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET

from labrecords import web
from labrecords.actions.access import record_failure, record_opening
from labrecords.queries import access, lab, links, portal


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


def by_link(view: Callable) -> Callable:
    """A page for whoever has a link, drawn in the portal's role, which is shown one issue of one report.

    What has ended, was altered or never was reads the same, whatever the method: a page that is not there. Nobody
    is signed in here, so a form from elsewhere could borrow nothing.
    """

    @login_not_required
    @csrf_exempt
    @functools.wraps(view)
    def shown(request: HttpRequest, *, digest: str, **given) -> HttpResponse:
        now, address = web.now(), web.address_of(request)
        wait = links.wait_before(address, now)
        if wait:
            return _slowed(request, wait)
        link = links.open_with(digest, now)
        if link is None:
            record_failure(address=address, at=now)
            raise access.NotFound("link")
        if request.method != "GET":
            return HttpResponseNotAllowed(["GET"])
        if not request.path_info.isprintable():
            raise access.NotFound("link")
        # Asked before the role changes, as is the laboratory's zone: the links and other issues are closed to it.
        link.newest_issue = links.newest_issue(link.report)
        with timezone.override(lab.zone()), portal.as_portal(link.report.study.project.client_id, link=link):
            return view(request, link=link, report=portal.linked(link), **given)

    return shown


def _slowed(request: HttpRequest, wait: int) -> HttpResponse:
    answer = render(request, "portal/slowed.html", {"wait": web.spoken(wait)}, status=429)
    answer["Retry-After"] = str(wait)
    return answer


def keep_opening(request: HttpRequest, report, name: str) -> None:
    """Keep that the person opened the page, a specimen or a file of a report."""
    record_opening(report=report, name=name, by=request.user, at=web.now())


def keep_opening_by(link, report, name: str) -> None:
    """Keep that the page, a specimen or a file of a report was opened through a link."""
    record_opening(report=report, name=name, link=link, at=web.now())
