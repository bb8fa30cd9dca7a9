"""From the window to a limit, in the demo: the engineer reads it and proposes, another engineer approves."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of
from tests.browser.steps import choose, fill

pytestmark = pytest.mark.browser

WINDOW = "/studies/S-2026-0006/window/"


def test_an_upper_limit_is_proposed_and_approved(house, enter):
    page = enter("edmund")
    page.goto(house.url + WINDOW)
    expect(page.get_by_role("row", name="hot corner").first).to_contain_text("Set aside")
    expect(page.get_by_text("Still to be shown: integrity evidence of high.")).to_be_visible()
    form = page.locator("form").filter(has=page.get_by_role("button", name="Propose the limit"))
    choose(form, "Limit", "at most")
    form.get_by_role("button", name="Propose the limit").click()
    expect(page.get_by_role("link", name="Why this limit: Fill this in.")).to_be_visible()
    fill(form, {"Why this limit": "The strongest setting can still be opened by hand."})
    form.get_by_role("button", name="Propose the limit").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("L-2026-0002 version 1: at most")
    expect(page.get_by_text("You proposed it: somebody else decides.")).to_be_visible()
    address = page.url
    second = enter("sorrel")
    second.goto(address)
    second.get_by_label("Decision").select_option("Approve it")
    second.get_by_label("What was looked at").fill("The opening trials, and the traces of the high setting.")
    second.get_by_role("button", name="Record the decision").click()
    expect(second.get_by_text("In force").first).to_be_visible()
    assert faults_of(second) == []


def test_what_was_seen_of_a_setting_is_kept_by_keyboard_alone(house, enter):
    page = enter("edmund")
    page.goto(house.url + WINDOW)
    page.get_by_text("Keep what was seen of a setting").focus()
    page.keyboard.press("Enter")
    page.get_by_role("combobox", name="Setting").focus()
    page.keyboard.type("high")
    page.keyboard.press("Tab")
    page.keyboard.type("integrity")
    page.keyboard.press("Tab")
    page.keyboard.type("acceptable")
    page.keyboard.press("Tab")
    page.keyboard.type("Twenty pouches, dye penetration: no channel.")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Kept: integrity evidence of high.")).to_be_visible()
    expect(page.get_by_text("Still to be shown")).to_have_count(0)
