"""The engineer plans a study, locks it, and reads another."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of
from tests.browser.steps import QUESTION, choose, fill

pytestmark = pytest.mark.browser

TITLE = "Side seals over a plate, slowly"
SETUP = {
    "Grip separation rate": "10",
    "Specimen width": "15",
    "Initial grip separation": "30",
    "Seal width": "10",
    "Web in the fixed grip or on the plate": "film",
    "Web in the moving grip": "coated paper",
    "Sampling rate": "100",
    "Filter of the force signal": "none",
    "Conditioning": "24",
    "Reason for less conditioning": "The web takes up no water.",
    "Decimals recorded": "3",
    "Weakest force expected": "6",
    "Strongest force expected": "25",
}
TYPED = """[...document.querySelector("form.wide").elements]
  .filter((part) => part.name && part.type !== "hidden" && part.type !== "submit")
  .map((part) => `${part.name}: ${["checkbox", "radio"].includes(part.type) ? part.checked : part.value}`)"""


def fill_every_field(page):
    choose(page, "Project", "Quillwort")
    fill(page, {"Title": TITLE, "Coverage": "0.9", "Confidence": "0.9"} | QUESTION)
    choose(page, "Decision rule", "tolerance bound")
    page.get_by_label("Method version").select_option(index=1)
    page.get_by_label("C (tail held at 180 degrees").check()
    fill(page, SETUP)
    choose(page, "Unit of the rate", "in/min")
    choose(page, "Pulled from", "inner")
    choose(page, "Machine direction", "across")
    choose(page, "Unit of strength", "N/15mm")
    group = page.get_by_role("group", name="Group 1")
    fill(group, {"Lot": "Z9", "Arm": "aged", "Time point": "6 weeks", "Seal position": "left side"})
    fill(group, {"Packs": "10", "Specimens a pack": "2"})
    limit = page.get_by_role("group", name="Limit 1")
    choose(limit, "Kind", "alert limit")
    choose(limit, "Side", "at most")
    choose(limit, "Unit", "N/15mm")
    choose(limit, "Origin", "unknown")
    fill(limit, {"Value": "8.5"})


def test_a_plan_with_two_mistakes_is_mended_and_locked(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/new/")
    fill_every_field(page)
    fill(page, {"Title": "", "Seal width": "ten"})
    typed = page.evaluate(TYPED)
    page.get_by_role("button", name="Three more groups").click()
    expect(page.get_by_role("group", name="Group 6")).to_be_visible()
    assert set(typed) <= set(page.evaluate(TYPED))
    page.get_by_role("button", name="Keep as a draft").click()

    # both are said, the first has the focus, and nothing typed is lost
    expect(page).to_have_title(re.compile("^Error: "))
    expect(page.locator("[data-take-focus]").first).to_be_focused()
    assert set(typed) <= set(page.evaluate(TYPED))
    assert faults_of(page) == []
    page.get_by_role("link", name="Seal width: ").click()
    expect(page.get_by_label("Seal width")).to_be_focused()
    page.keyboard.type("10")
    fill(page, {"Seal width": "10", "Title": TITLE})
    page.get_by_role("button", name="Keep as a draft").click()

    expect(page.get_by_role("heading", level=1)).to_contain_text(TITLE)
    warning = page.locator(".caution", has_text="Not comparable with earlier studies of this client")
    expect(warning).to_contain_text("S-2026-0002 used technique A (tail unsupported) instead of C")
    expect(warning).to_contain_text("10 in/min")
    expect(warning).to_contain_text("no factor converts one into the other")
    expect(page.get_by_text("Origin unknown")).to_be_visible()
    expect(page.get_by_text("The set-up is not locked.")).to_be_visible()
    expect(page.get_by_role("button", name="Lock the set-up")).to_have_count(0)
    expect(page.get_by_text("No version of the protocol has been put to the client.")).to_be_visible()
    code = page.get_by_role("heading", level=1).inner_text().split()[0]
    put_to_the_client(page, house)
    the_client_agrees(enter("clara"), house, code)
    page.goto(f"{house.url}/studies/{code}/")
    page.get_by_role("button", name="Lock the set-up").click()
    expect(page.get_by_role("status")).to_contain_text(re.compile(r"Its set-up mark is \w{4}-\w{4}-\w{4}"))
    expect(page.get_by_text(re.compile(r"Set-up mark \w{4}-\w{4}-\w{4}"))).to_be_visible()
    expect(page.get_by_role("link", name="Change the plan")).to_have_count(0)


def put_to_the_client(page, house):
    page.get_by_role("link", name="see the protocol").click()
    page.get_by_role("link", name="Put the plan to the client").click()
    fill(page, {"What the client is told": "Please look at the plate.", "Your password": house.passwords["edmund"]})
    page.get_by_role("button", name="Sign, and put it").click()
    expect(page.get_by_role("status")).to_contain_text("Version 1 is put to the client")
    assert faults_of(page) == []


def the_client_agrees(page, house, code):
    page.goto(f"{house.url}/protocols/")
    page.get_by_role("link", name=TITLE).click()
    expect(page.get_by_text("Please look at the plate.")).to_be_visible()
    page.get_by_label("Agreed", exact=True).check()
    page.get_by_label("Your password").fill("not it")
    page.get_by_role("button", name="Sign the answer").click()
    expect(page.get_by_text("The password typed is not the one of this account.")).to_be_visible()
    expect(page.get_by_label("Agreed", exact=True)).to_be_checked()
    page.get_by_label("Your password").fill(house.passwords["clara"])
    page.get_by_role("button", name="Sign the answer").click()
    expect(page.get_by_role("status")).to_contain_text("Your answer to version 1 is kept")
    expect(page).to_have_url(f"{house.url}/protocols/{code}/1/")
    assert faults_of(page) == []


def test_the_warning_names_no_study_in_the_same_set_up(house, enter, spare):
    """The control of the warning above: S-2026-0002 had the spare study's technique and rate, S-2026-0003 had not."""
    page = enter("edmund")
    page.goto(f"{house.url}/studies/{spare.code}/")
    warning = page.locator(".caution", has_text="Not comparable with earlier studies of this client")
    expect(warning).to_contain_text("S-2026-0003 used a rate of 300 mm/min instead of 11 in/min")
    expect(warning).not_to_contain_text("S-2026-0002")


def test_numbers_and_figures_of_a_released_study(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/S-2026-0002/")
    matrix = page.get_by_role("region", name="The plan's groups with their numbers")
    expect(matrix.get_by_role("row")).to_have_count(5)
    for column in ("Planned", "Tested", "Void", "Marked", "Below limit", "Lower tolerance bound"):
        expect(matrix.get_by_role("columnheader", name=column)).to_be_visible()
    for figure in page.locator("figure[data-figure]").all():
        drawn = figure.locator("svg.main-svg[role=img]")
        expect(drawn).to_be_visible()
        assert len(drawn.get_attribute("aria-label")) > 40
    expect(page.locator("#values svg[role=img]")).to_have_attribute("aria-label", re.compile("pounds-force per inch"))
    page.get_by_role("link", name="K2207, as made, right side").click()
    expect(page.locator("#traces svg.main-svg[role=img]")).to_be_visible()


def test_a_row_of_the_data_shows_its_point(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/S-2026-0002/")
    figure = page.locator("#values")
    drawn = figure.locator(".scatterlayer .trace")
    expect(drawn).not_to_have_count(0)
    before = drawn.count()
    row = figure.locator("tr[data-point]").first
    expect(row).to_be_hidden()
    figure.get_by_text("Show the data").click()
    expect(row).to_be_visible()
    row.get_by_role("button").click()
    expect(row).to_have_class("chosen")
    expect(row.get_by_role("button")).to_have_attribute("aria-pressed", "true")
    expect(drawn).to_have_count(before + 1)
    row.get_by_role("button").click()
    expect(drawn).to_have_count(before)
    expect(row.get_by_role("button")).to_have_attribute("aria-pressed", "false")
