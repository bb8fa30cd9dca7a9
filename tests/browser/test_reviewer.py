"""A deviation is decided blind, a study reviewed by a second person, and the report signed by a third."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser


def test_a_deviation_is_decided_without_the_value(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/reviews/")
    page.get_by_role("link", name="Decide the deviation of").first.click()
    expect(page.get_by_text("The value is not shown")).to_be_visible()
    assert "lbf" not in page.get_by_role("main").inner_text()
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("link", name="Decision: Choose one.")).to_be_visible()
    page.get_by_label("The result counts").check()
    page.get_by_label("Reason").fill("Two tenths below the limit for an hour.")
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("status")).to_contain_text("is decided")


def test_reviewed_then_signed_and_frozen(house, enter):
    study = f"{house.url}/studies/S-2026-0003/"
    reviewer = enter("sorrel")
    reviewer.goto(study)
    reviewer.get_by_role("link", name="Review S-2026-0003").click()
    expect(reviewer.get_by_text("Seal strength is not seal integrity").first).to_be_visible()
    reviewer.get_by_label("Accept").check()
    reviewer.get_by_label("What was checked").fill("Every trace and every mode read against the strips.")
    reviewer.get_by_role("button", name="Record the review").click()
    expect(reviewer.get_by_role("status")).to_contain_text("is accepted")
    expect(reviewer.get_by_role("link", name="Release S-2026-0003")).to_have_count(0)

    signatory = enter("constance")
    signatory.goto(study)
    signatory.get_by_role("link", name="Release S-2026-0003").click()
    sign = signatory.get_by_role("region", name="Sign")
    for part in ("Constance Tidewell", "Meaning", "authorise its release"):
        expect(sign.get_by_text(part).first).to_be_visible()
    sign.get_by_label("Your password, again").fill("not the right one")
    sign.get_by_role("button", name="Sign and release").click()
    expect(signatory.locator(".refusal", has_text="the password is not right")).to_be_visible()
    signatory.get_by_label("Your password, again").fill(house.passwords["constance"])
    signatory.get_by_role("button", name="Sign and release").click()
    expect(signatory.get_by_role("status")).to_contain_text("is released")
    expect(signatory.get_by_text("signed by Constance Tidewell")).to_be_visible()

    client = enter("clara")
    client.goto(f"{house.url}/reports/")
    expect(client.get_by_role("link", name="Chevron seals of the small catheter pouch")).to_be_visible()
