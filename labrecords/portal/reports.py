"""A client's reports: the list, each report as it was frozen, and each specimen in it."""

import json
from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import localtime

from labrecords.forms.listing import NUMBER, TIME, Choice, Column, Listing, Nothing
from labrecords.queries import access, portal

from .base import for_clients, keep_opening


@for_clients
def reports(request: HttpRequest) -> HttpResponse:
    """Every report released to the person's company."""
    return render(request, "portal/reports.html", {"listing": _listing(request, portal.listed(request.user))})


COLUMNS = (
    Column("number", "Number", lambda report: report.number),
    Column("title", "Title", lambda report: report.title),
    Column("issue", "Issue", lambda report: report.issue, kind=NUMBER, right=True),
    Column("issued", "Issued on", lambda report: report.at, lambda report: localtime(report.at).date(), kind=TIME),
    Column("state", "State", lambda report: _state(report)),
    Column("project", "Project", lambda report: _project(report)),
)
STATES = {state: state.lower() for state in ("Current", "Replaced", "Withdrawn")}
NOTHING = Nothing(
    "No report has been released to you yet. Each one stands here as soon as the laboratory has signed it."
)


def _state(report) -> str:
    if hasattr(report, "withdrawal"):
        return "Withdrawn"
    return "Replaced" if report.replaced_by else "Current"


def _project(report) -> str:
    return f"{report.study.project.title} ({report.study.project.code})"


def _listing(request: HttpRequest, found) -> Listing:
    choices = (Choice("state", "State", _state, STATES), Choice("project", "Project", _project))
    return Listing(
        found, COLUMNS, request.GET, ("report", "reports"), order="newest first", nothing=NOTHING, choices=choices
    )


@for_clients
def newest(request: HttpRequest, *, number: str) -> HttpResponse:
    """From a report's number to its newest issue."""
    return redirect("portal:report", number=number, issue=portal.issues(request.user, number)[0])


@for_clients
def report(request: HttpRequest, *, number: str, issue: int) -> HttpResponse:
    """A report, drawn from its stored content and from nothing else."""
    found = access.own_report(request.user, number, issue)
    issues = portal.issues(request.user, number)
    keep_opening(request, found, "page")
    context = {
        **frozen(found, base=reverse("portal:report", args=[number, issue]), newest=issues[0]),
        "crumbs": [_reports(), {"label": _identity(found)}],
        "issues": [other for other in issues if other != issue],
        "links_url": reverse("links-to-own-report", args=[number, issue]),
    }
    return render(request, "portal/report.html", context)


def frozen(found, *, base: str, newest: int) -> dict:
    """What a report's page is drawn from; `base` is the address under which its files and specimens are."""
    listed = [_listed(file, base) for file in portal.files(found)]
    urls = {file["name"]: file["url"] for file in listed}
    page = _page(found)
    return {
        **page,
        "content": page["content"] | {"photographs": _photographs(page["content"], base)},
        "files": listed,
        "figure_urls": {name.removesuffix(".svg"): url for name, url in urls.items() if name.endswith(".svg")},
        "pdf_url": urls.get("report.pdf"),
        "zip_url": f"{base}files.zip",
        "specimens_url": f"{base}specimens/",
        "replaced_by": newest if newest > found.issue else None,
        "withdrawal": portal.withdrawal(found),
    }


@for_clients
def specimen(request: HttpRequest, *, number: str, issue: int, label: str) -> HttpResponse:
    """What a report says of one specimen."""
    found = access.own_report(request.user, number, issue)
    context = of_specimen(found, label, back=reverse("portal:report", args=[number, issue]))
    keep_opening(request, found, f"specimen {label}")
    return render(request, "portal/specimen.html", context | {"crumbs": [_reports(), *context["crumbs"]]})


def of_specimen(found, label: str, *, back: str) -> dict:
    """What a specimen's page is drawn from; `back` is the address of its report. Raises access.NotFound."""
    page = _page(found)
    leads = {"label": page["identity"], "url": back}
    taken = [photo for photo in _photographs(page["content"], back) if photo["specimen"] == label]
    said = {**page, **_said(page["content"], label), "photographs": taken}
    return said | {"back": leads, "crumbs": [leads, {"label": label}]}


def _photographs(content: dict, base: str) -> list[dict]:
    """The photographs of a report, each with the address of its file; an old report may name none."""
    return [photo | {"url": _file_url(photo["name"], base)} for photo in content.get("photographs", [])]


def _file_url(name: str, base: str) -> str:
    return f"{base}files/{quote(name)}"


def _said(content: dict, label: str) -> dict:
    """The parts of a report's content that are about one specimen."""
    row = next((row for row in content["results"] if row["specimen"] == label), None)
    if row is None:
        raise access.NotFound(label)
    return {
        "row": row,
        "deviations": [entry for entry in content["deviations"] if label in entry["specimens"]],
        "corrections": [entry for entry in content["corrections"] if entry["specimen"] == label],
        "voids": [entry for entry in content["voids"] if entry["specimen"] == label],
    }


def _page(found) -> dict:
    return {"report": found, "identity": _identity(found), "content": json.loads(found.content)}


def _identity(found) -> str:
    return f"{found.number}, issue {found.issue}"


def _reports() -> dict[str, str]:
    return {"label": "Reports", "url": reverse("portal:reports")}


def _listed(file, base: str) -> dict:
    return {
        "name": file.name,
        "title": file.title,
        "size": file.size,
        "sha256": file.sha256,
        "url": _file_url(file.name, base),
    }
