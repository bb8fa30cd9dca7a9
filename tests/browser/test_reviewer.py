"""A deviation is decided blind, a study reviewed by a second person, and the report signed by a third."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of
from tests.browser.test_technician import refused

pytestmark = pytest.mark.browser

# of S-2026-0004: its room was too cold, and it waits for a decision
HELD = "SP-000074-9"


def test_a_deviation_is_decided_without_the_value(house, enter):
    bench = enter("tilly")  # a technician decides nothing, and reads it
    bench.goto(f"{house.url}/specimens/{HELD}/")
    values = re.findall(r"\d+\.\d{2,4}(?= (?:lbf/in|N)\b)", bench.get_by_role("main").inner_text())
    assert len(values) >= 3
    page = enter("edmund")
    page.goto(f"{house.url}/specimens/{HELD}/")
    expect(page.get_by_text("Not shown: the result waits for a decision")).to_be_visible()
    assert [value for value in values if value in page.content()] == []
    page.goto(f"{house.url}/reviews/")
    page.get_by_role("link", name=f"Decide the deviation of {HELD}").click()
    expect(page.get_by_text("The value is not shown")).to_be_visible()
    # not in the text, nor anywhere else in what the server sent
    assert [value for value in values if value in page.content()] == []
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("link", name="Decision: Choose one.")).to_be_visible()
    expect(page.locator("[data-take-focus]").first).to_be_focused()
    page.get_by_label("The result counts").check()
    page.get_by_label("Reason").fill("Two tenths below the limit for an hour.")
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("status")).to_contain_text("is decided")
    expect(page.get_by_role("link", name=f"Decide the deviation of {HELD}")).to_have_count(0)


def review(page, study):
    page.goto(study)
    page.get_by_role("link", name="Review S-2026-0003").click()
    expect(page.get_by_text("Seal strength is not seal integrity").first).to_be_visible()
    page.get_by_label("Accept").check()
    page.get_by_label("What was checked").fill("Every trace and every mode read against the strips.")
    page.get_by_role("button", name="Record the review").click()


def become_engineer(page, house, username):
    """The lab manager gives a technician a second role."""
    page.goto(f"{house.url}/people/{username}/roles/")
    page.get_by_label("engineer").check()
    page.get_by_role("button", name="Give these roles").click()
    expect(page.get_by_role("status")).to_contain_text("hold from the next page on")


def test_tested_then_reviewed_then_signed_by_three_people(house, enter):
    study = f"{house.url}/studies/S-2026-0003/"
    client = enter("clara")
    client.goto(f"{house.url}/reports/")
    expect(client.get_by_role("link", name="Side seals of the small catheter pouch")).to_be_visible()
    expect(client.get_by_role("link", name="Chevron seals")).to_have_count(0)

    become_engineer(enter("harriet"), house, "rowan")
    tester = enter("rowan")
    review(tester, study)
    refused(tester, "Rowan Pike tested in this study")
    expect(tester.get_by_label("What was checked")).to_have_value(re.compile("^Every trace"))

    reviewer = enter("sorrel")
    review(reviewer, study)
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
    refused(signatory, "the password is not right")
    assert faults_of(signatory) == []
    client.reload()
    expect(client.get_by_role("link", name="Chevron seals")).to_have_count(0)
    signatory.get_by_label("Your password, again").fill(house.passwords["constance"])
    signatory.get_by_role("button", name="Sign and release").click()
    expect(signatory.get_by_role("status")).to_contain_text("is released")
    expect(signatory.get_by_text("signed by Constance Tidewell")).to_be_visible()
    client.reload()
    expect(client.get_by_role("link", name="Chevron seals of the small catheter pouch")).to_be_visible()
