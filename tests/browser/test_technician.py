"""The technician opens a run, enters results by hand and from files; what must be refused is refused."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of
from tests.browser.steps import ask_for_a_run, fill, open_run, take_in_hand

pytestmark = pytest.mark.browser

PARTS = ("You tried", "Rule", "Why", "What is kept", "Who can resolve it", "What to do next")


def refused(page, words, *, said="Not recorded:"):
    """The refusal with these words, in all its eight parts, with the focus on the first one's heading."""
    panel = page.locator(".refusal", has_text=words).first
    expect(panel).to_be_visible()
    expect(panel.locator(".refusal-headline")).to_contain_text(said)
    for part in PARTS:
        expect(panel.locator("dt", has_text=part)).to_be_visible()
        expect(panel.locator("dt", has_text=part).locator("xpath=following-sibling::dd[1]")).to_have_text(
            re.compile(r"\w{2}")
        )
    expect(panel.get_by_text(re.compile(r"Reference \S+, \d+ \w{3} \d{4}, \d\d:\d\d"))).to_be_visible()
    expect(page.locator(".refusal-headline").first).to_be_focused()


def test_the_wrong_load_cells_are_refused_before_a_strip_is_spent(house, enter, spare):
    page = enter("bram")
    open_run(page, house, spare.code, cell="20 N", room="23")
    refused(page, "past its calibration date")
    assert faults_of(page) == []
    ask_for_a_run(page, cell="100 lbf")
    refused(page, "too large")
    expect(page.get_by_label("Room temperature")).to_have_value("23")
    ask_for_a_run(page, cell="10 lbf")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run")
    page.get_by_role("button", name="Close the run").click()
    expect(page.locator(".messages")).to_contain_text("is closed")


ADHESIVE = "AP: adhesive peel"


def press(page, mode=ADHESIVE):
    """How it came apart: pressing it keeps what was typed."""
    page.get_by_role("button", name=mode).click()


def test_typed_results(house, enter, spare):
    page = enter("bram")
    open_run(page, house, spare.code)
    take_in_hand(page, spare.typed)
    fill(page, {"Maximum": "1.47"})
    page.get_by_text("How it was pulled, and when").click()
    page.get_by_label("Technique used").select_option("C")
    press(page)
    refused(page, "another technique than the study's")
    expect(page.get_by_label("Maximum").first).to_have_value("1.47")
    expect(page.locator("input[name=specimen]")).to_have_value(spare.typed)
    expect(page.get_by_role("button", name=ADHESIVE)).to_have_attribute("aria-pressed", "true")
    assert faults_of(page) == []

    page.get_by_label("Technique used").select_option("A")
    fill(page, {"Rate used": "12"})
    press(page)
    refused(page, "another grip separation rate")
    expect(page.get_by_role("table")).to_have_count(0)
    fill(page, {"Rate used": "11"})
    page.get_by_role("button", name="Keep this result").click()
    expect(page.locator(".messages")).to_contain_text(f"Kept: 1.47 lbf/in for {spare.typed}.")
    expect(page.get_by_label("Maximum").first).to_be_focused()
    kept = page.get_by_role("region", name="Results of this run")
    expect(kept.get_by_role("row", name=spare.typed)).to_contain_text("1.47 lbf/in")

    # somebody types the code in small letters; the strip has been done, which is said before the force is kept
    page.locator("input[name=specimen]").fill("")
    page.locator("input[name=specimen]").press_sequentially(spare.typed.lower())
    fill(page, {"Maximum": "1.50"})
    expect(page.locator(".messages")).to_contain_text(f"Already recorded: {spare.typed} has 1.47 lbf/in")
    press(page)
    refused(page, "already recorded")
    page.goto(f"{house.url}/specimens/{spare.typed}/")
    expect(page.get_by_role("region", name="Result")).to_contain_text("recorded as 1.47 lbf/in, typed")


DROPPED = """files => {
  const held = new DataTransfer();
  files.forEach(([name, text]) => held.items.add(new File([text], name, { type: "text/csv" })));
  return held;
}"""


def test_the_files_are_taken_by_drop_and_by_choice(house, enter, spare):
    """What is dropped on the form and what is chosen in the browser's own window are the same to it."""
    page = enter("tilly")
    page.goto(f"{house.url}/runs/{spare.run}/files/")
    names = [path.name for path in sorted(house.traces.iterdir())]
    chosen = page.get_by_role("list", name="Files chosen").get_by_role("listitem")
    page.locator("input[name=files]").set_input_files(sorted(house.traces.iterdir()))
    expect(chosen).to_have_text(names)
    page.reload()
    expect(chosen).to_have_count(0)
    held = page.evaluate_handle(DROPPED, [[path.name, path.read_text()] for path in sorted(house.traces.iterdir())])
    page.dispatch_event(".drop-zone", "drop", {"dataTransfer": held})
    expect(chosen).to_have_text(names)


def test_a_folder_of_trace_files(house, enter):
    """Seven files: four of one strip, one of three, one with semicolons and commas, one pulled at another rate."""
    page = enter("tilly")
    page.goto(f"{house.url}/bench/")
    page.get_by_role("link", name="S-2026-0004 run 3").click()
    files = sorted(house.traces.iterdir())
    page.locator("input[name=files]").set_input_files(files)
    page.get_by_role("button", name="Take the files").click()
    expect(page.get_by_text(f"{len(files)} files are kept.")).to_be_visible()
    received = page.get_by_role("region", name="Received for this study").get_by_role("link").all()
    links = {link.inner_text(): link.get_attribute("href") for link in received}
    links = {path.name: links[path.name] for path in files}
    seen = {name: keep_all(page, house.url + link) for name, link in links.items()}
    [several] = [name for name in seen if "three strips" in name]
    [faster] = [path.name for path in files if "12 in/min" in path.read_text()]
    [semicolons] = [path.name for path in files if "0,0000;" in path.read_text()]
    kept = {name: told.count("Kept") for name, (told, _) in seen.items()}
    assert kept == dict.fromkeys(seen, 1) | {several: 3, faster: 0}
    assert "another grip separation rate" in seen[faster][0]
    assert kept[semicolons] == 1
    assert [odd for _, odd in seen.values()].count(True) == 1


def keep_all(page, address):
    """Say how each strip came apart and keep; an odd trace is kept with the extra press only."""
    page.goto(address)
    expect(page.get_by_role("group", name=re.compile("^Figure: "))).to_be_visible()
    preview = page.get_by_role("region", name="First rows of the file")
    expect(preview.get_by_role("columnheader", name=re.compile("Force|Load"))).to_have_count(1)
    for curve in page.get_by_role("group", name=re.compile("^Curve ")).all():
        expect(curve.get_by_label("Specimen")).to_have_value(re.compile(r"^SP-\d{6}-\w$"))
        curve.get_by_label("AP: adhesive peel").check()
    page.get_by_role("button", name="Keep the ticked curves").click()
    outcomes = page.get_by_role("region", name="What became of the curves")
    expect(outcomes).to_be_visible()
    if not (odd := page.get_by_label("This is what I saw").count() > 0):
        return outcomes.inner_text(), odd
    refused(page, "this trace looks odd", said="Check:")
    expect(outcomes.get_by_text("Kept", exact=True)).to_have_count(0)
    page.get_by_label("AP: adhesive peel").uncheck()
    page.get_by_label("BS: break at the seal").check()
    page.get_by_label("This is what I saw").check()
    page.get_by_role("button", name="Keep the ticked curves").click()
    expect(outcomes.get_by_text("Kept", exact=True)).to_be_visible()
    return outcomes.inner_text(), odd
