"""The client reads their own report, follows a specimen, takes the files; another client's do not exist."""

import hashlib

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

OWN, FOREIGN, MISSING = "/reports/R-2026-0002/1/", "/reports/R-2026-0001/1/", "/reports/R-2026-0999/1/"


def test_the_report_and_a_specimen(house, enter):
    page = enter("clara")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.get_by_role("link", name="Side seals of the small catheter pouch").click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible()
    expect(page.get_by_role("heading", name="Decision rule")).to_be_visible()
    expect(page.get_by_text("Seal strength is not seal integrity").first).to_be_visible()
    page.get_by_role("link", name="SP-").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("SP-")
    page.get_by_role("link", name="Back", exact=False).first.click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible()


def test_the_files(house, enter):
    page = enter("clara")
    got = {
        name: page.request.get(f"{house.url}{OWN}files/{name}")
        for name in ("report.pdf", "results.csv", "traces.csv", "content.json", "manifest.txt")
    }
    assert {answer.status for answer in got.values()} == {200}
    assert got["report.pdf"].body().startswith(b"%PDF")
    assert got["results.csv"].text().startswith("specimen,")
    listed = dict(reversed(line.split("  ")) for line in got["manifest.txt"].text().splitlines())
    for name in ("report.pdf", "results.csv", "traces.csv", "content.json"):
        assert hashlib.sha256(got[name].body()).hexdigest() == listed[name]


def test_another_clients_report_reads_like_none(house, enter):
    page = enter("clara")
    foreign, missing = (page.request.get(house.url + path) for path in (FOREIGN, MISSING))
    assert foreign.status == missing.status == 404
    assert without_token(foreign.text()) == without_token(missing.text())


def without_token(page):
    """The sign-out form's token differs on every page."""
    return "\n".join(line for line in page.splitlines() if "csrfmiddlewaretoken" not in line)
