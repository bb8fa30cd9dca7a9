"""A result is corrected: a technician asks, another engineer agrees, and both versions stay in sight."""

import pytest
from playwright.sync_api import expect

from labrecords.rules import labels
from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser

STRIP = labels.label("SP", 75)


def test_a_correction_waits_for_a_second_person(house, enter):
    page = enter("tilly")
    page.goto(f"{house.url}/specimens/{STRIP}/")
    page.get_by_role("link", name="Correct this result").click()
    assert faults_of(page) == []
    page.get_by_role("button", name="Ask for the correction").click()
    expect(page.get_by_role("link", name="What is wrong, and how it is known: Fill this in.")).to_be_visible()
    page.get_by_label("CO: cohesive peel").check()
    page.get_by_label("Reason").select_option("failure mode looked at again")
    page.get_by_label("What is wrong, and how it is known").fill("Sealant on both webs, under the lamp.")
    page.get_by_role("button", name="Ask for the correction").click()
    expect(page.get_by_text("waits until a second person agrees")).to_be_visible()
    second = enter("sorrel")
    second.goto(f"{house.url}/reviews/")
    second.get_by_role("link", name=f"The correction of {STRIP}").click()
    assert faults_of(second) == []
    second.get_by_label("Decision").select_option("Agree: make the correction")
    second.get_by_label("What was looked at").fill("Both halves of the strip.")
    second.get_by_role("button", name="Record the decision").click()
    expect(second.get_by_text("Version 1:")).to_be_visible()
    expect(second.get_by_text("Version 2:")).to_be_visible()
    assert faults_of(second) == []
