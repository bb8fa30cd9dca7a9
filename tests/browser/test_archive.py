"""The archive for an auditor, as the demo makes it: asked for, listed, made by the worker beside, taken."""

import zipfile

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser


def test_an_archive_is_made_while_the_page_waits(house, enter, tmp_path):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/S-2026-0001/records/")
    page.get_by_label("For whom").fill("the auditor of a walk")
    page.get_by_role("button", name="Make the archive").click()
    expect(page.locator(".messages")).to_contain_text("The archive is being made.")
    link = page.get_by_role("link", name="Take the archive for the auditor of a walk")
    expect(link).to_be_visible(timeout=30_000)  # by itself: the page is not loaded anew
    expect(page.get_by_role("button", name="Make the archive")).to_be_enabled()
    assert not faults_of(page)
    with page.expect_download() as taken:
        link.click()
    taken.value.save_as(tmp_path / "records.zip")
    with zipfile.ZipFile(tmp_path / "records.zip") as packed:
        assert "manifest.txt" in packed.namelist()
