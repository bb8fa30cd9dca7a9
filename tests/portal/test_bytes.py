"""Files: the stored bytes under the stored names, and what a client can reach."""

import hashlib
import io
import shutil
import subprocess
import zipfile

from tests.portal.reading import Page
from tests.reports.test_typeset import ask

# Read only by the laboratory: where the lot was put on arrival.
NOT_IN_A_REPORT = {"zqplacevx"}


def files_address(report):
    return f"/reports/{report.number}/{report.issue}/files/"


def test_each_file_is_served_as_it_was_kept(cast, reader):
    browser = reader("clara")
    kept = list(cast.clara.files.all())
    assert {file.media_type.partition(";")[0] for file in kept} == {
        *("application/pdf", "application/json", "text/csv", "text/plain", "image/svg+xml")
    }
    for file in kept:
        answer = browser.get(files_address(cast.clara) + file.name)
        assert answer.content == bytes(file.content)
        assert answer["ETag"] == f'"{hashlib.sha256(answer.content).hexdigest()}"' == f'"{file.sha256}"'
        assert answer["Content-Type"] == file.media_type
        assert answer["Cache-Control"] == "no-store"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Content-Length"] == str(file.size)
        way, _, name = answer["Content-Disposition"].partition("; ")
        assert name == f'filename="{cast.clara.number}-issue-1-{file.name}"'
        assert way == ("inline" if file.name.endswith(".svg") else "attachment")


def test_a_drawing_may_style_itself_and_nothing_else(cast, reader):
    browser = reader("clara")
    drawing = browser.get(files_address(cast.clara) + "values.svg")
    assert drawing["Content-Security-Policy"] == "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    assert "unsafe-inline" not in browser.get(files_address(cast.clara) + "results.csv")["Content-Security-Policy"]


def test_the_archive_holds_every_file_and_is_the_same_each_time(cast, reader):
    browser = reader("clara")
    address = f"/reports/{cast.clara.number}/1/files.zip"
    answer, again = browser.get(address), browser.get(address)
    assert answer.content == again.content
    assert answer["Content-Type"] == "application/zip"
    assert answer["ETag"] == f'"{hashlib.sha256(answer.content).hexdigest()}"'
    stem = f"{cast.clara.number}-issue-1"
    assert answer["Content-Disposition"] == f'attachment; filename="{stem}.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        held = {entry.filename: archive.read(entry) for entry in archive.infolist()}
        days = {entry.date_time for entry in archive.infolist()}
    assert held == {f"{stem}/{file.name}": bytes(file.content) for file in cast.clara.files.all()}
    assert days == {cast.world.at.timetuple()[:6]}


def test_the_manifest_in_the_archive_agrees_with_its_files(cast, reader, tmp_path):
    # GNU coreutils' sha256sum reads the manifest: a reader needs no program of ours.
    packed = reader("clara").get(f"/reports/{cast.clara.number}/1/files.zip").content
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        archive.extractall(tmp_path)
    folder = tmp_path / f"{cast.clara.number}-issue-1"
    check = [shutil.which("sha256sum"), "--check", "--strict", "manifest.txt"]
    assert subprocess.run(check, cwd=folder, capture_output=True).returncode == 0
    (folder / "results.csv").write_bytes(b"other")
    assert subprocess.run(check, cwd=folder, capture_output=True).returncode == 1


def crawl(browser, *more):
    """Everything a person can reach from the list of reports: address to answer."""
    found, waiting = {}, ["/reports/", *more]
    while waiting:
        address = waiting.pop().partition("#")[0]
        if address in found or not address.startswith("/reports/"):
            continue
        found[address] = answer = browser.get(address, follow=True)
        if answer["Content-Type"].startswith("text/html"):
            waiting += Page(answer.content.decode()).addresses
    return found


def readable(found, folder):
    """All that can be read in the answers, packed and printed things unpacked, without white space."""
    for answer in found.values():
        yield repr(dict(answer.headers))
        if answer["Content-Type"] == "application/zip":
            with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
                yield from (archive.read(name).decode("latin-1") for name in archive.namelist())
        elif answer["Content-Type"] == "application/pdf":
            yield ask("pdftotext", answer.content, folder)
        yield answer.content.decode("latin-1")


def _labels(report):
    return [specimen.label for specimen in report.study.specimens.all()]


def test_the_crawl_reaches_every_kind_of_address(cast, reader):
    found = crawl(reader("clara"))
    address = f"/reports/{cast.clara.number}/1/"
    files = {files_address(cast.clara) + file.name for file in cast.clara.files.all()}
    specimens = {f"{address}specimens/{label}/" for label in _labels(cast.clara)}
    assert found.keys() == {"/reports/", address, f"{address}files.zip", f"{address}links/", *files, *specimens}
    assert {answer.status_code for answer in found.values()} == {200}
