"""The archive of a report for an auditor, made when it is asked for."""

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header, quote_etag

from labrecords import web
from labrecords.actions import archive as actions
from labrecords.files.documents import sha256
from labrecords.forms.archive import ArchiveForm
from labrecords.queries import access, reports
from labrecords.web import needs, now

WORDS = (
    "One zip with the report's files, every record behind it, calibration certificates, its part of the audit trail, "
    "and programs of plain Python that check all of it. It names people and equipment: give it to whoever may know "
    "them."
)


@needs("take a report's records")
def take(request: HttpRequest, code: str) -> HttpResponse:
    """Ask for whom, then give the archive of the newest issue."""
    study = access.study(request.user, code)
    report = reports.released(study)
    if report is None:
        raise access.NotFound(f"report of {code}")
    form = ArchiveForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        packed = actions.take(report=report, by=request.user, at=now(), **form.cleaned_data)
        return _answer(packed, f"{report.number}-issue-{report.issue}-records.zip")
    heading = f"Records behind {report.number}, issue {report.issue}"
    crumbs = web.study_crumbs(code, {"label": "Records"})
    return web.form_page(request, form, heading, "Make the archive", crumbs, words=WORDS, study=study)


def _answer(packed: bytes, name: str) -> HttpResponse:
    response = HttpResponse(packed, content_type="application/zip")
    response["Content-Disposition"] = content_disposition_header(True, name)
    response["ETag"] = quote_etag(sha256(packed))
    return response
