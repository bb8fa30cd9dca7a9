"""The engineer plans a study, locks it, and reads another."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

QUESTION = {
    "Title": "Side seals over a plate",
    "Purpose": "Whether the second supplier's web may be used.",
    "Why this many packs and specimens": "Ten packs, agreed with the client.",
    "Decision rule chosen by": "the client, in the order",
    "Seal width": "10",
    "Web in the fixed grip or on the plate": "film",
    "Web in the moving grip": "coated paper",
    "Weakest force expected": "4",
    "Strongest force expected": "20",
}


def fill(page, answers):
    for label, text in answers.items():
        page.get_by_label(label, exact=False).first.fill(text)


def test_plan_lock_and_warning(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/new/")
    projects = page.get_by_label("Project").locator("option").all_text_contents()
    page.get_by_label("Project").select_option(label=next(name for name in projects if "Quillwort" in name))
    page.get_by_label("Method version").select_option(index=1)
    page.get_by_label("C (tail held at 180 degrees").check()
    fill(page, QUESTION | {"Title": ""})
    group = page.get_by_role("group", name="Group 1")
    for label, text in {"Lot": "Z9", "Arm": "as made", "Seal position": "left side"}.items():
        group.get_by_label(label, exact=False).first.fill(text)
    group.get_by_label("Packs", exact=False).fill("10")
    group.get_by_label("Specimens a pack").fill("1")
    limit = page.get_by_role("group", name="Limit 1")
    limit.get_by_label("Value").fill("1.00")
    limit.get_by_label("Origin").select_option("unknown")
    page.get_by_role("button", name="Keep as a draft").click()

    # the title was left out: it is said, it has the focus, and nothing typed is lost
    expect(page).to_have_title(re.compile("^Error: "))
    expect(page.get_by_role("link", name="Title: Fill this in.")).to_be_visible()
    expect(page.get_by_label("Purpose")).to_have_value(QUESTION["Purpose"])
    expect(group.get_by_label("Lot", exact=False).first).to_have_value("Z9")
    page.get_by_label("Title").first.fill(QUESTION["Title"])
    page.get_by_role("button", name="Keep as a draft").click()

    expect(page.get_by_role("heading", level=1)).to_contain_text("Side seals over a plate")
    expect(page.get_by_text("no factor converts one into the other").first).to_be_visible()
    expect(page.get_by_text("Origin unknown")).to_be_visible()
    page.get_by_role("button", name="Lock the set-up").click()
    expect(page.get_by_role("status")).to_contain_text("Its set-up mark is")
    expect(page.get_by_role("link", name="Change the plan")).to_have_count(0)


def test_numbers_and_figures_of_a_finished_study(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/S-2026-0002/")
    matrix = page.get_by_role("region", name="The plan's groups with their numbers")
    expect(matrix.get_by_role("row")).to_have_count(5)
    figure = page.locator("#values")
    drawn = figure.locator("svg.main-svg[role=img]")
    expect(drawn).to_be_visible()
    assert "lbf" in drawn.get_attribute("aria-label") or "pound" in drawn.get_attribute("aria-label")
    figure.get_by_text("Show the data").click()
    row = figure.locator("tr[data-point]").first
    expect(row).to_be_visible()
    row.get_by_role("button").click()
    expect(row).to_have_class("chosen")
    expect(row.get_by_role("button")).to_have_attribute("aria-pressed", "true")
    page.get_by_role("link", name="K2207, as made, right side").click()
    expect(page.locator("#traces svg.main-svg[role=img]")).to_be_visible()
