"""The archives of a report for an auditor: asked for here, made a little later, and taken here."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header, quote_etag
from django.views.decorators.http import require_safe

from labrecords import web
from labrecords.actions import archive as actions
from labrecords.forms.archive import ArchiveForm
from labrecords.queries import access, archives, reports
from labrecords.web import needs, now


@needs("take a report's records")
def records(request: HttpRequest, code: str) -> HttpResponse:
    """Ask for whom, and see what was asked for of the newest issue."""
    study = access.study(request.user, code)
    report = _released(study)
    form = ArchiveForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.order(report=report, by=request.user, at=now(), **form.cleaned_data)
        messages.success(request, "The archive is being made. It is listed below.")
        return redirect("report-records", code)
    context = {
        "form": form,
        "study": study,
        "report": report,
        **_listed(report),
        "crumbs": web.study_crumbs(code, {"label": "Records"}),
    }
    return render(request, "studies/records.html", context, status=422 if form.errors else 200)


@require_safe
@needs("take a report's records")
def listed(request: HttpRequest, code: str) -> HttpResponse:
    """The list alone, for a page that keeps itself fresh."""
    report = _released(access.study(request.user, code))
    return render(request, "studies/archives.html", _listed(report))


def _released(study):
    report = reports.released(study)
    if report is None:
        raise access.NotFound(f"report of {study.code}")
    return report


def _listed(report) -> dict:
    moment = now()
    orders = list(archives.orders(report))
    return {
        "archives": [(asked, archives.waits(asked), archives.waits_long(asked, moment)) for asked in orders],
        "any_waits": any(archives.waits(asked) for asked in orders),
    }


@require_safe
@needs("take a report's records")
def take(request: HttpRequest, order_id) -> HttpResponse:
    """One archive that was made."""
    asked = archives.one(order_id)
    made = actions.take(asked=asked, by=request.user, at=now())
    response = HttpResponse(bytes(made.content), content_type="application/zip")
    name = f"{asked.report.number}-issue-{asked.report.issue}-records.zip"
    response["Content-Disposition"] = content_disposition_header(True, name)
    response["ETag"] = quote_etag(made.sha256)
    return response
