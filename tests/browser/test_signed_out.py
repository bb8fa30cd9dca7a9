"""Signed out in the middle of a plan: what was typed is carried over the sign-in."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser


def test_what_was_typed_survives_being_signed_out(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/new/")
    page.get_by_label("Title").fill("Seals typed before the tea")
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Keep as a draft").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in again")
    assert faults_of(page) == []
    page.get_by_label("Username").fill("edmund")
    page.get_by_label("Password").fill(house.passwords["edmund"])
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("You are signed in as Edmund Reed.")).to_be_visible()
    assert faults_of(page) == []
    page.get_by_role("button", name="Send it").click()
    expect(page.get_by_label("Title")).to_have_value("Seals typed before the tea")
    expect(page.get_by_text("Fill this in.").first).to_be_visible()
