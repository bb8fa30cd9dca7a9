"""The files of a client's report: the stored bytes, one by one or all in one."""

import io
import zipfile

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header, quote_etag

from labrecords.files.documents import sha256
from labrecords.files.zipped import entry
from labrecords.queries import access, portal

from .base import for_clients, keep_opening

# A drawing opened by itself is a document of its own: it may style itself, and do nothing else.
DRAWING = "image/svg+xml"
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
ZIP = "application/zip"


@for_clients
def file(request: HttpRequest, *, number: str, issue: int, name: str) -> HttpResponse:
    """One file of a report, byte for byte as it was kept."""
    report = access.own_report(request.user, number, issue)
    answer = one(report, name)
    keep_opening(request, report, name)
    return answer


def one(report, name: str) -> HttpResponse:
    """One file of a report as an answer. Raises access.NotFound."""
    found = portal.file(report, name)
    response = _answer(bytes(found.content), found.media_type, found.sha256, f"{_stem(report)}-{name}")
    if found.media_type == DRAWING:
        response["Content-Security-Policy"] = DRAWING_POLICY
    return response


@for_clients
def every_file(request: HttpRequest, *, number: str, issue: int) -> HttpResponse:
    """All files of a report in one archive: the same bytes each time it is asked for."""
    report = access.own_report(request.user, number, issue)
    answer = packed(report)
    keep_opening(request, report, "files.zip")
    return answer


def packed(report) -> HttpResponse:
    """All files of a report in one archive, as an answer."""
    content = _packed(report)
    return _answer(content, ZIP, sha256(content), f"{_stem(report)}.zip")


def _packed(report) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in portal.file_bytes(report):
            archive.writestr(entry(f"{_stem(report)}/{name}", report.at), content)
    return out.getvalue()


def _stem(report) -> str:
    return f"{report.number}-issue-{report.issue}"


def _answer(content: bytes, media_type: str, digest: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=media_type)
    response["Content-Disposition"] = content_disposition_header(media_type != DRAWING, name)
    response["ETag"] = quote_etag(digest)
    response["Cache-Control"] = "no-store"
    return response
