"""The technician opens a run, enters results by hand and from files; what must be refused is refused."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PARTS = ("You tried", "Rule", "Why", "What is kept", "Who can resolve it", "What to do next")


def refused(page, words):
    """The refusal with these words, in all its parts, with the focus on the first one's heading."""
    panel = page.locator(".refusal", has_text=words).first
    expect(panel).to_be_visible()
    for part in PARTS:
        expect(panel.get_by_text(part, exact=True)).to_be_visible()
    expect(panel.get_by_text("Reference")).to_be_visible()
    expect(page.locator(".refusal-headline").first).to_be_focused()


def open_with(page, cell):
    page.get_by_label("Tester").select_option(label=first_with(page, "Tester", "Bench tester 1"))
    page.get_by_label("Load cell").select_option(label=first_with(page, "Load cell", cell))
    page.get_by_label("Room temperature").fill("23")
    page.get_by_label("Room humidity").fill("50")
    page.get_by_role("button", name="Open the run").click()


def first_with(page, label, words):
    options = page.get_by_label(label).locator("option").all_text_contents()
    return next(option for option in options if words in option)


def test_the_wrong_load_cells_are_refused_before_a_strip_is_spent(house, enter):
    page = enter("bram")
    page.goto(f"{house.url}/studies/S-2026-0004/open-run/")
    open_with(page, "20 N")
    refused(page, "past its calibration date")
    open_with(page, "100 lbf")
    refused(page, "too large")
    expect(page.get_by_label("Room temperature")).to_have_value("23")
    open_with(page, "10 lbf")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run")
    page.get_by_role("button", name="Close the run").click()
    expect(page.get_by_role("status")).to_contain_text("is closed")


def own_run(page, house):
    page.goto(f"{house.url}/bench/")
    page.get_by_role("link", name="S-2026-0004 run 3").click()


def test_typed_results(house, enter):
    page = enter("tilly")
    own_run(page, house)
    last = page.locator("input[name=specimen]").input_value()
    page.get_by_label("Maximum", exact=False).first.fill("1.47")
    page.get_by_label("AP: adhesive peel").check()
    page.get_by_text("How it was pulled, and when").click()
    page.get_by_label("Technique used").select_option("C")
    page.get_by_role("button", name="Keep this result").click()
    refused(page, "another technique than the study's")
    expect(page.get_by_label("Maximum", exact=False).first).to_have_value("1.47")
    page.get_by_label("Technique used").select_option("A")
    page.get_by_role("button", name="Keep this result").click()
    expect(page.get_by_role("status")).to_contain_text(f"Kept: 1.47 lbf/in for {last}.")
    page.locator("input[name=specimen]").fill(last)
    page.get_by_label("Maximum", exact=False).first.fill("1.50")
    page.get_by_label("AP: adhesive peel").check()
    page.get_by_role("button", name="Keep this result").click()
    refused(page, "already recorded")


def test_a_folder_of_trace_files(house, enter):
    page = enter("tilly")
    own_run(page, house)
    files = sorted(house.traces.iterdir())
    page.locator("input[type=file]").set_input_files(files)
    page.get_by_role("button", name="Take the files").click()
    told = page.get_by_role("region", name="What became of them")
    expect(told.get_by_role("listitem")).to_have_count(len(files))
    expect(told.get_by_text("Not kept")).to_have_count(0)
    links = [link.get_attribute("href") for link in told.get_by_role("link").all()]
    seen = [keep_all(page, house.url + link) for link in links]
    assert sum(kept for kept, _ in seen) >= 5
    assert any("another grip separation rate" in words for _, words in seen)


def keep_all(page, address):
    """Choose how each strip came apart and keep; confirm an odd trace with the extra press."""
    page.goto(address)
    for curve in page.get_by_role("group", name=re.compile("^Curve ")).all():
        curve.get_by_label("AP: adhesive peel").check()
    page.get_by_role("button", name="Keep the ticked curves").click()
    outcomes = page.get_by_role("region", name="What became of the curves")
    expect(outcomes).to_be_visible()
    odd = page.get_by_label("The odd trace is what I saw")
    if odd.count():
        expect(page.get_by_text("this trace looks odd").first).to_be_visible()
        odd.first.check()
        page.get_by_role("button", name="Keep the ticked curves").click()
    words = outcomes.inner_text()
    return outcomes.locator(".state-ok").count(), words
