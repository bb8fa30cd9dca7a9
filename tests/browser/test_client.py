"""The client reads their own report, follows a specimen, takes the files; another client's do not exist."""

import hashlib
import io
import pathlib
import zipfile

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser

OWN, FOREIGN, MISSING = "/reports/R-2026-0002/1/", "/reports/R-2026-0001/1/", "/reports/R-2026-0999/1/"


def test_the_report_and_a_specimen(house, enter):
    page = enter("clara")
    page.goto(house.url)
    expect(page.get_by_role("heading", level=1)).to_have_text("Your reports")
    expect(page.get_by_role("main")).not_to_contain_text("R-2026-0001")
    page.get_by_role("link", name="Side seals of the small catheter pouch").click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible()
    rule = page.locator(".sheet", has=page.get_by_role("heading", name="Decision rule"))
    expect(rule).to_contain_text("Chosen by: Quillwort Catheters")
    expect(page.get_by_text("Seal strength is not seal integrity").first).to_be_visible()
    specimen = page.get_by_role("link", name="SP-").first
    label = specimen.inner_text()
    specimen.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(label)
    page.get_by_role("link", name="Back to report R-2026-0002").click()
    # back at the specimen's row, not at the top of a long report
    expect(page.get_by_role("heading", name="The answer")).to_have_count(1)
    expect(page.locator(f"[id='specimen-{label}']")).to_be_in_viewport()


def taken(page, words):
    with page.expect_download() as download:
        page.get_by_role("link", name=words).first.click()
    return pathlib.Path(download.value.path()).read_bytes(), download.value.suggested_filename


def test_the_files_are_downloaded(house, enter):
    page = enter("clara")
    page.goto(house.url + OWN)
    report, name = taken(page, "Download the PDF")
    assert report.startswith(b"%PDF")
    assert name == "R-2026-0002-issue-1-report.pdf"
    packed, name = taken(page, "Download all files (zip)")
    assert name == "R-2026-0002-issue-1.zip"
    files = zipfile.ZipFile(io.BytesIO(packed))
    assert files.testzip() is None
    assert files.read("R-2026-0002-issue-1/report.pdf") == report
    rows = files.read("R-2026-0002-issue-1/results.csv").decode("utf-8-sig").splitlines()
    assert rows[0].startswith("specimen,")
    assert len(rows) == 42  # forty strips, a replacement, and the names of the columns
    traces = files.read("R-2026-0002-issue-1/traces.csv").decode("utf-8-sig").splitlines()
    assert traces[0].startswith("specimen,")
    assert len(traces) > 40 * 50


def test_each_file_is_what_the_manifest_says(house, enter):
    page = enter("clara")
    got = {
        name: page.request.get(f"{house.url}{OWN}files/{name}")
        for name in ("report.pdf", "results.csv", "traces.csv", "content.json", "manifest.txt")
    }
    assert {answer.status for answer in got.values()} == {200}
    listed = dict(reversed(line.split("  ")) for line in got["manifest.txt"].text().splitlines())
    for name in ("report.pdf", "results.csv", "traces.csv", "content.json"):
        assert hashlib.sha256(got[name].body()).hexdigest() == listed[name]


def test_another_clients_report_reads_like_none(house, enter):
    page = enter("clara")
    seen = []
    for path in (FOREIGN, MISSING):
        assert page.goto(house.url + path).status == 404
        seen.append((page.title(), without_token(page.content())))
    assert seen[0] == seen[1]
    assert faults_of(page) == []
    # and it is there for the client whose it is
    assert enter("otto").goto(house.url + FOREIGN).status == 200


@pytest.mark.parametrize("path", ["files/report.pdf", "files/results.csv", "files.zip", "specimens/SP-000001-A/"])
def test_nor_is_any_part_of_it_there(house, enter, path):
    page = enter("clara")
    foreign, missing = (page.request.get(house.url + report + path) for report in (FOREIGN, MISSING))
    assert foreign.status == missing.status == 404
    assert without_token(foreign.text()) == without_token(missing.text())


def without_token(page):
    """The sign-out form's token differs on every page."""
    return "\n".join(line for line in page.splitlines() if "csrfmiddlewaretoken" not in line)
