"""A client lays a rigid-plate number beside an unsupported one: the page refuses, explains, and makes a page of it."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser


def test_two_studies_taken_two_ways_are_not_compared_but_explained(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/compare/")
    for label, value in (("This group", "S-2026-0001/1"), ("Beside this one", "S-2026-0002/1")):
        page.get_by_role("combobox", name=label).select_option(value)
    page.get_by_role("button", name="Lay them side by side").click()
    expect(page.get_by_text("Not comparable")).to_be_visible()
    expect(page.get_by_text("Difference of the means")).to_have_count(0)
    differs = (
        page.get_by_role("table")
        .filter(has_text="Breaks comparison")
        .or_(page.get_by_role("table").filter(has_text="breaks comparison"))
    )
    expect(differs.get_by_role("row", name="Technique")).to_be_visible()
    expect(page.get_by_text("about twice").first).to_be_visible()
    assert faults_of(page) == []


def test_one_client_s_two_studies_make_a_page_for_the_client(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/compare/?one=S-2026-0002%2F1&other=S-2026-0006%2F2")
    page.get_by_role("link", name="for the client").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert "/for-the-client/" in page.url
    assert faults_of(page) == []
