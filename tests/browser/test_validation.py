"""Four technicians and one who reads high, in the demo: what the manager reads, and what came of it."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser


def test_one_who_reads_high_is_shown_and_not_authorised(house, enter):
    page = enter("harriet")
    page.goto(f"{house.url}/studies/S-2026-0008/")
    page.get_by_role("link", name="whether people get the same number").click()
    people = page.get_by_role("table", name="Mean of the packs less that of the others")
    expect(people.get_by_role("row", name="Oona Wick")).to_contain_text("Reads high")
    expect(people.get_by_role("row", name="Tilly Marsh")).to_contain_text("Agrees")
    expect(page.get_by_text("Within the margin: Bram Sedge, Rowan Pike, Tilly Marsh. Not: Oona Wick")).to_be_visible()
    authorised = page.get_by_text("Authorised by it:")
    expect(authorised).to_contain_text("Tilly Marsh")
    expect(authorised).not_to_contain_text("Oona")
    assert faults_of(page) == []
    page.get_by_role("link", name="see it").click()
    expect(page.get_by_role("table", name="8 strips, in the order in which they are pulled")).to_have_count(4)


def test_a_validation_is_planned_in_the_browser(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/new/")
    section = page.get_by_role("region", name="Validation")
    section.get_by_text("This study shows whether people get the same number").click()
    section.get_by_role("group", name="Who pulls").get_by_label("Bram Sedge").check()
    page.get_by_role("button", name="Keep as a draft").click()
    expect(section.get_by_role("group", name="Who pulls").get_by_label("Bram Sedge")).to_be_checked()
    expect(section.get_by_role("link", name="Margin between people: Fill this in.")).to_be_visible()
    assert faults_of(page) == []
