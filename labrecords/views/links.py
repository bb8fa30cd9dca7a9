"""Links to a report, given and revoked: by the laboratory on a study's page, by the client on the report's own."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import links as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.links import LinkForm
from labrecords.forms.listing import NUMBER, TIME, Choice, Column, Listing, Nothing
from labrecords.queries import access, links, portal, reports
from labrecords.web import needs


@needs("give a link to a report")
def of_study(request: HttpRequest, code: str) -> HttpResponse:
    """Links to every issue of a study's report; another is given to the newest."""
    study = access.study(request.user, code)
    report = reports.released(study)
    if report is None:
        raise access.NotFound(f"report of {code}")
    crumbs = web.study_crumbs(code, {"label": "Links to the report"})
    shown = {"frame": "base.html", "crumbs": crumbs, "revoke_url": "revoke-link"}
    return _page(request, report, shown, lambda: links.of_study(study, request.user, web.now()))


@needs("give a link to an own report")
def of_own(request: HttpRequest, number: str, issue: int) -> HttpResponse:
    """Links to one issue of a report of the person's company."""
    report = _own_report(request, number, issue)
    crumbs = [
        {"label": "Reports", "url": reverse("portal:reports")},
        {"label": f"{number}, issue {issue}", "url": reverse("portal:report", args=[number, issue])},
        {"label": "Links"},
    ]
    shown = {"frame": "portal_base.html", "crumbs": crumbs, "revoke_url": "revoke-own-link"}
    return _page(request, report, shown, lambda: links.of_report(report, request.user, web.now()))


def _own_report(request: HttpRequest, number: str, issue: int):
    """Found in the portal's role, as on the report's own page."""
    if not request.path.isprintable():
        raise access.NotFound(request.path)
    with portal.as_portal(request.user.client_id):
        return access.own_report(request.user, number, issue)


def _page(request: HttpRequest, report, shown: dict, listed) -> HttpResponse:
    form = LinkForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            link, secret = actions.give(report=report, by=request.user, at=web.now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            return _given(request, link, secret, shown)
    refusals = web.panels(refused) if refused else []
    listing = _listing(request, listed())
    context = {**shown, "report": report, "form": form, "listing": listing, "refusals": refusals}
    return render(request, "links/links.html", context, status=422 if refused or form.errors else 200)


COLUMNS = (
    Column("whom", "For", lambda link: link.whom),
    Column("issue", "Issue", lambda link: link.report.issue, kind=NUMBER),
    Column("state", "State", lambda link: _state(link)),
    Column("by", "Given by", lambda link: link.by.name, lambda link: _giver(link)),
    Column("given", "Given", lambda link: link.at, kind=TIME),
    Column("until", "Until", lambda link: link.until, kind=TIME),
    Column("opened", "Times opened", lambda link: link.opened, kind=NUMBER, right=True),
    Column("last", "Last opened", lambda link: link.last_opened, lambda link: link.last_opened or "never", kind=TIME),
    Column("end", "End it"),
)


def _state(link) -> str:
    if hasattr(link, "revocation"):
        return "Revoked"
    return "Holds" if link.holds else "Expired"


def _giver(link) -> str:
    return f"{link.by.name}, {link.by.client.name}" if link.by.client else link.by.name


def _listing(request: HttpRequest, given) -> Listing:
    names = {"Holds": "holds", "Expired": "expired", "Revoked": "revoked"}
    return Listing(
        given,
        COLUMNS,
        request.GET,
        ("link", "links"),
        order="newest first",
        nothing=Nothing("No link to this report has been given. The form above gives the first."),
        choices=(Choice("state", "State", _state, names),),
    )


def _given(request: HttpRequest, link, secret: str, shown: dict) -> HttpResponse:
    address = request.build_absolute_uri(reverse("linked:report", args=[secret]))
    back = {"label": shown["crumbs"][-1]["label"], "url": request.path}
    crumbs = [*shown["crumbs"][:-1], back, {"label": "A new one"}]
    context = {**shown, "crumbs": crumbs, "report": link.report, "link": link, "address": address}
    return render(request, "links/given.html", context | {"back_url": request.path})


@require_POST
@needs("give a link to a report")
def revoke(request: HttpRequest, link_id: uuid.UUID) -> HttpResponse:
    """End any link."""
    link = _ended(request, link_id)
    return redirect("links-to-report", link.report.study.code)


@require_POST
@needs("give a link to an own report")
def revoke_own(request: HttpRequest, link_id: uuid.UUID) -> HttpResponse:
    """End a link that somebody of the same company gave."""
    link = _ended(request, link_id)
    return redirect("links-to-own-report", link.report.number, link.report.issue)


def _ended(request: HttpRequest, link_id: uuid.UUID):
    link = links.revocable(request.user, link_id)
    actions.revoke(link=link, by=request.user, at=web.now())
    messages.success(request, f"The link for {link.whom} opens nothing any more.")
    return link
