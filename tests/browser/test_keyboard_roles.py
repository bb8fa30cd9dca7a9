"""Keyboard alone: the manager from counts to work, the engineer into a figure's data, the bench through an outage."""

import csv

import pytest
from playwright.sync_api import expect

from tests.browser import steps
from tests.browser.test_keyboard import NAMED, OUTLINE, tab_to

pytestmark = pytest.mark.browser

LABEL = "document.activeElement.getAttribute('aria-label') || document.activeElement.textContent.trim()"


def heading(page, words):
    expect(page.get_by_role("heading", level=1)).to_have_text(words)


def press(page, wanted, *, most=60):
    tab_to(page, wanted, most=most)
    page.keyboard.press("Enter")


def back_to(page, wanted, *, most=10):
    """Press Shift and Tab until the focus is on what has this name."""
    for _ in range(most):
        page.keyboard.press("Shift+Tab")
        if wanted in page.evaluate(LABEL):
            assert page.evaluate(OUTLINE)
            return
    raise AssertionError(f"Shift and Tab did not reach {wanted}; it ended on {page.evaluate(NAMED)}")


def test_the_manager_from_counts_to_the_oldest_review_and_an_act(house, enter):
    page = enter("harriet")
    page.goto(house.url)
    press(page, "Stops work now")
    heading(page, "What stops work, and what is due")
    expect(page.locator("main")).to_contain_text("Only: stops work now.")
    expect(page.get_by_role("region", name="Later")).to_have_count(0)
    press(page, "Show all")
    expect(page.get_by_role("region", name="Later")).to_be_visible()
    press(page, "Reviews")
    heading(page, "Reviews")
    tab_to(page, "SELECT state")
    page.keyboard.type("Waiting for review")
    press(page, "Show")
    page.wait_for_url(lambda where: "state=" in where)
    filtered = page.url
    press(page, "Study S-2026-")
    expect(page.get_by_role("heading", level=1)).to_contain_text("S-2026-")
    page.go_back()  # as Alt and the left arrow do, which a browser without a window does not hear
    assert page.url == filtered  # what was asked for is still asked for
    press(page, "Show all")
    expect(page.get_by_role("link", name="Decide the deviation").first).to_be_visible()
    press(page, "Due")
    heading(page, "What stops work, and what is due")
    press(page, "calendar address")
    heading(page, "Your calendar address")
    press(page, "Back to what is due")
    heading(page, "What stops work, and what is due")
    press(page, "End the address")
    expect(page.get_by_role("status").first).to_contain_text("The calendar address has ended.")  # and is said


def test_the_engineer_from_a_summary_to_its_data_and_out_again(house, enter, tmp_path):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/S-2026-0002/")
    figure = page.locator("figure").first
    expect(figure.locator("svg.main-svg").first).to_be_visible()
    expect(figure.locator(".figure-summary").first).to_contain_text("40 values in 4 groups")
    press(page, "Show the data", most=80)
    rows = figure.locator("tbody tr")
    expect(rows.first).to_be_visible()
    shown = figure.locator("thead th").all_inner_texts()
    value = next(name for name in shown if "lbf/in" in name)
    press(page, value)
    expect(figure.locator("th[aria-sort]")).to_have_attribute("aria-sort", "ascending")
    lowest = rows.first.locator("button.point").inner_text()
    press(page, lowest)
    expect(figure.locator("tr.chosen")).to_contain_text(lowest)
    back_to(page, "Reset axes", most=20)
    page.keyboard.press("Enter")
    assert page.evaluate(OUTLINE)
    with page.expect_download() as taken:
        press(page, "as CSV", most=200)
    taken.value.save_as(tmp_path / "figure.csv")
    with (tmp_path / "figure.csv").open(newline="") as file:
        head, *data = csv.reader(file)
    assert head == shown
    assert len(data) == rows.count()
    assert lowest in {row[0] for row in data}


def test_three_entries_through_an_outage(house, visit):
    engineer, _ = visit("edmund")
    code = steps.plan(engineer, house, title="Side seals through an outage, by keys", packs=6)
    engineer.context.close()
    page, complaints = visit("tilly")
    steps.receive(page, house, code)
    steps.open_run(page, house, code)
    force, chip = page.locator("input[name=typed]"), page.locator("[data-outbox-words]")
    expect(force).to_be_focused()
    expect(chip).to_have_text("Nothing waits on this tablet.")
    page.context.set_offline(True)
    for count in (1, 2, 3):
        page.keyboard.type(f"1.5{count}")
        page.keyboard.press("Enter")
        page.keyboard.press("1")
        expect(chip).to_contain_text(f"Not yet sent: {count}.")
        expect(force).to_be_focused()  # the next specimen's turn, and never the page's body
    page.context.set_offline(False)
    expect(chip).to_contain_text("3 sent.", timeout=30_000)
    expect(chip).to_have_attribute("role", "status")  # so that it is heard
    page.reload()
    expect(page.get_by_role("region", name="Results of this run").get_by_role("row")).to_have_count(4)
    page.context.close()
    # the browser says that it was cut off; the policy and the scripts have nothing to say
    assert [complaint for complaint in complaints if complaint.startswith(("error: policy", "script"))] == []
