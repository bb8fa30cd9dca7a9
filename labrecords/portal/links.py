"""What whoever has a link reads: one issue of a report as its client sees it, its specimens and its files.

Addresses within the page are relative, so the page does not hold its own.
"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords.queries import access, lab

from . import files, reports
from .base import by_link, keep_opening_by

FRAME = "portal/linked.html"


@by_link
def report(request: HttpRequest, *, link, report) -> HttpResponse:
    """The report, and which issue replaced it, if any."""
    keep_opening_by(link, report, "page")
    context = {**reports.frozen(report, base="", newest=link.newest_issue), **_frame(link)}
    return render(request, "portal/report.html", context)


@by_link
def specimen(request: HttpRequest, *, link, report, label: str) -> HttpResponse:
    """What the report says of one specimen."""
    context = reports.of_specimen(report, label, back="../../") | _frame(link)
    keep_opening_by(link, report, f"specimen {label}")
    return render(request, "portal/specimen.html", context)


@by_link
def file(_request: HttpRequest, *, link, report, name: str) -> HttpResponse:
    """One file of the report, byte for byte as it was kept."""
    answer = files.one(report, name)
    keep_opening_by(link, report, name)
    return answer


@by_link
def every_file(_request: HttpRequest, *, link, report) -> HttpResponse:
    """All files of the report in one archive."""
    answer = files.packed(report)
    keep_opening_by(link, report, "files.zip")
    return answer


@by_link
def nothing(_request: HttpRequest, **_given) -> HttpResponse:
    """Any other address: as if it had never been, and slowed like all others."""
    raise access.NotFound("link")


def _frame(link) -> dict[str, object]:
    laboratory = lab.laboratory()
    return {"frame": FRAME, "link": link, "lab_name": laboratory.name if laboratory else ""}
