"""A client's reports: the list, each report as it was frozen, and each specimen in it."""

import json

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords.queries import access, portal

from .base import for_clients, keep_opening


@for_clients("read own reports")
def reports(request: HttpRequest) -> HttpResponse:
    """Every report released to the person's company."""
    return render(request, "portal/reports.html", {"reports": portal.listed(request.user)})


@for_clients("read own reports")
def newest(request: HttpRequest, *, number: str) -> HttpResponse:
    """From a report's number to its newest issue."""
    return redirect("portal:report", number=number, issue=portal.issues(request.user, number)[0])


@for_clients("read own reports")
def report(request: HttpRequest, *, number: str, issue: int) -> HttpResponse:
    """A report, drawn from its stored content and from nothing else."""
    found = access.own_report(request.user, number, issue)
    listed = [_listed(found, file) for file in portal.files(found)]
    urls = {file["name"]: file["url"] for file in listed}
    issues = portal.issues(request.user, number)
    keep_opening(request, found, "page")
    context = {
        **_page(found),
        "crumbs": [_reports(), {"label": _identity(found)}],
        "files": listed,
        "figure_urls": {name.removesuffix(".svg"): url for name, url in urls.items() if name.endswith(".svg")},
        "pdf_url": urls.get("report.pdf"),
        "zip_url": reverse("portal:every-file", args=[number, issue]),
        "specimens_url": f"{reverse('portal:report', args=[number, issue])}specimens/",
        "issues": [other for other in issues if other != issue],
        "replaced_by": issues[0] if issues[0] > issue else None,
        "withdrawal": portal.withdrawal(found),
    }
    return render(request, "portal/report.html", context)


@for_clients("read own reports")
def specimen(request: HttpRequest, *, number: str, issue: int, label: str) -> HttpResponse:
    """What a report says of one specimen."""
    found = access.own_report(request.user, number, issue)
    page = _page(found)
    said = _said(page["content"], label)
    keep_opening(request, found, f"specimen {label}")
    back = {"label": _identity(found), "url": reverse("portal:report", args=[number, issue])}
    crumbs = [_reports(), back, {"label": label}]
    return render(request, "portal/specimen.html", {**page, **said, "back": back, "crumbs": crumbs})


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


def _listed(found, file) -> dict:
    return {
        "name": file.name,
        "title": file.title,
        "size": file.size,
        "sha256": file.sha256,
        "url": reverse("portal:file", args=[found.number, found.issue, file.name]),
    }
