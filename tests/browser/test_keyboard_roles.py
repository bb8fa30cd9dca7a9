"""Keyboard alone: a manager to the oldest work, an engineer into a figure's data, a client to the PDF, an outage.

The ways are scripts 3 to 6 of the look guide; 1 and 2 stand in test_keyboard_bench.py.
"""

import csv
import itertools
import json
import re
import subprocess

import pytest
from playwright.sync_api import expect

from tests.browser import steps
from tests.browser.test_keyboard import NAMED, OUTLINE, tab_to

pytestmark = pytest.mark.browser

LABEL = "document.activeElement.getAttribute('aria-label') || document.activeElement.textContent.trim()"
HEADINGS = """[...document.querySelectorAll("h1, h2, h3, h4")].filter(one => one.checkVisibility())
    .map(one => [Number(one.tagName[1]), one.textContent.trim()])"""
NINTH = 8


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


def test_the_client_to_the_answer_a_specimen_and_the_pdf(house, enter, tmp_path):
    page = enter("clara")
    page.goto(house.url)
    press(page, "Side seals of the small catheter pouch")
    heading(page, "Side seals of the small catheter pouch, two lots")
    headings = page.evaluate(HEADINGS)
    assert [level for level, _ in headings].count(1) == 1
    assert headings[:3] == [
        [1, "Side seals of the small catheter pouch, two lots"],
        [2, "The answer"],  # one jump from the title
        [3, "Decision rule"],  # and the next
    ]
    assert all(after - before <= 1 for (before, _), (after, _) in itertools.pairwise(headings))
    # what is shown of a specimen opens from its row, and the way back ends at that row
    rows = page.locator("[id^='specimen-'] a:text-matches('^SP-')")
    label = rows.nth(NINTH).inner_text()
    press(page, label, most=120)
    expect(page.get_by_role("heading", level=1)).to_contain_text(label)
    press(page, "Back to report R-2026-0002")
    expect(page.locator(f"[id='specimen-{label}']")).to_be_in_viewport()
    tab_to(page, label, most=1)
    told = json.loads(page.request.get(f"{page.url.partition('#')[0]}files/content.json").text())
    page.keyboard.press("Control+Home")
    with page.expect_download() as taken:
        back_to(page, "Download the PDF", most=160)
        page.keyboard.press("Enter")
    taken.value.save_as(tmp_path / "report.pdf")
    _headings_headers_and_figures_are_told(tmp_path / "report.pdf", told)


def _headings_headers_and_figures_are_told(file, content):
    """The PDF's own structure, as a screen reader walks it: read by poppler, which did not write it."""
    told = subprocess.run(["pdfinfo", "-struct-text", file], capture_output=True, text=True, check=True).stdout
    levels = [int(level) for level in re.findall(r"^ *H(\d) ", told, re.MULTILINE)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    assert re.search(r'H1 "Answer"', told)
    _, *tables = re.split(r"^ *Table ", told, flags=re.MULTILINE)
    assert len(tables) > 5
    assert all(re.search(r"^ *TH .*?/Scope /Column", table, re.MULTILINE | re.DOTALL) for table in tables)
    assert len(re.findall(r"^ *Caption\b", told, re.MULTILINE)) == len(tables) + len(content["figures"])
    written = file.read_bytes()
    assert content["figures"]
    for figure in content["figures"]:
        assert b"/Alt(" + figure["alt"].encode("ascii") in written


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
