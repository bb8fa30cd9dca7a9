"""Changing the person at a bench by badge: the specimen stays in hand, by keys alone, in a few seconds."""

import pytest
from playwright.sync_api import expect

from tests.browser.house import sign_in
from tests.browser.looks import faults_of
from tests.browser.test_bench import force, in_hand, own, said, scan  # noqa: F401 - own is a fixture

pytestmark = pytest.mark.browser


@pytest.fixture
def tilly(house, enter):
    """A browser in which Tilly has just signed in: badges end the session that was there before."""
    page = enter(None)
    sign_in(page, house, "tilly")
    return page


@pytest.fixture
def badges(house, enter):
    """The code of each technician's badge, as the people's pages say it."""
    page = enter("harriet")
    found = {}
    for who in ("tilly", "bram"):
        page.goto(f"{house.url}/people/{who}/")
        found[who] = page.get_by_role("link", name="End PB-").inner_text().removeprefix("End ")
    return found


def take_over(page, house, badge):
    """Scan a badge at the bench and type its PIN, as somebody with a scanner and a keyboard does."""
    scan(page, badge.replace("-", ""))
    expect(page.locator("input[name=pin]")).to_be_focused()
    page.keyboard.type(house.pins[badge])
    page.keyboard.press("Enter")


def test_a_badge_changes_the_person_and_the_specimen_stays_in_hand(house, tilly, own, badges):  # noqa: F811
    page = tilly
    page.goto(f"{house.url}/runs/{own.run}/")
    expect(force(page)).to_be_focused()
    page.locator("[data-strip] a[data-state=waiting]").nth(2).click()
    expect(force(page)).to_be_focused()
    label = in_hand(page)
    take_over(page, house, badges["bram"])
    page.wait_for_url(lambda where: "/open-run/?from=" in where)  # a run of Bram's own
    expect(page.locator(".who-name")).to_have_text("Bram Sedge")
    assert f"specimen={label}" in page.url
    said(page, "Bram Sedge is at the bench.")
    page.get_by_label("Room temperature").fill("23")
    page.get_by_label("Room humidity").fill("50")
    page.get_by_role("button", name="Open the run").click()
    page.wait_for_url(lambda where: "/runs/" in where and where.endswith(f"specimen={label}"))
    assert in_hand(page) == label
    bram = page.url
    take_over(page, house, badges["tilly"])
    page.wait_for_url(lambda where: where.endswith(f"/runs/{own.run}/?specimen={label}"))
    assert in_hand(page) == label
    take_over(page, house, badges["bram"])
    page.wait_for_url(bram)


def test_something_typed_is_kept_or_cleared_first(house, tilly, own, badges):  # noqa: F811
    page = tilly
    page.goto(f"{house.url}/runs/{own.run}/")
    expect(force(page)).to_be_focused()
    page.keyboard.type("1.25")
    here = page.url
    scan(page, badges["bram"].replace("-", ""))
    expect(page.locator(".messages")).to_contain_text("then show the badge")
    assert page.url == here
    expect(force(page)).to_have_value("1.25")
    page.keyboard.press("Escape")


def test_whoever_leaves_comes_back_with_the_pin_and_what_was_typed_is_there(house, tilly, own, badges):  # noqa: F811
    page = tilly
    page.goto(f"{house.url}/runs/{own.run}/")
    expect(force(page)).to_be_focused()
    page.keyboard.type("1.31")
    page.get_by_role("link", name="Change person").click()
    page.get_by_role("button", name="Leave the bench to the next badge").click()
    expect(page.locator("main")).to_contain_text("The bench waits.")
    expect(page.locator("input[name=badge]")).to_be_focused()
    assert not faults_of(page)
    scan(page, badges["tilly"].replace("-", ""))
    page.keyboard.type(house.pins[badges["tilly"]])
    page.keyboard.press("Enter")
    page.wait_for_url(lambda where: f"/runs/{own.run}/" in where)
    expect(force(page)).to_have_value("1.31")
    page.get_by_role("link", name="Studies").click()  # by badge the bench's people still see the laboratory
    expect(page.get_by_role("heading", level=1)).to_have_text("Studies")
