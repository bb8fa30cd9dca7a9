"""A form whose answer takes longer than a second says that it is at work, and sends nothing twice meanwhile."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

WATCH = """new MutationObserver(() => {
  const line = document.querySelector(".messages [data-long]");
  const bar = line?.querySelector("progress");
  const named = document.getElementById(bar?.getAttribute("aria-labelledby"))?.textContent;
  seen([line?.closest("[role=status]") !== null, named, document.querySelector("main form button").disabled]);
}).observe(document.querySelector(".messages"), { childList: true })"""


def asked(house, enter):
    page, seen = enter("tilly"), []
    page.goto(f"{house.url}/account/badge/make/")
    page.expose_function("seen", lambda told: seen.append(told))
    page.evaluate(WATCH)
    return page, seen


def test_an_answer_that_takes_long_is_told(house, enter):
    page, seen = asked(house, enter)
    held = []
    page.route("**/account/badge/make/", lambda route: held.append(route))
    page.locator("main form button[type=submit]").first.click(no_wait_after=True)
    page.wait_for_timeout(1_600)  # a page that is about to be replaced tells a test nothing but what it calls out
    assert seen == [[True, "Still working. This page goes on by itself when it is done.", True]]
    assert len(held) == 1
    held[0].continue_()
    expect(page.get_by_text("Nothing was recorded")).to_be_visible()
    expect(page.get_by_text("Still working.")).to_have_count(0)


def test_an_answer_at_once_says_nothing_of_it(house, enter):
    page, seen = asked(house, enter)
    page.locator("main form button[type=submit]").first.click()
    expect(page.get_by_text("Nothing was recorded")).to_be_visible()
    assert seen == []
