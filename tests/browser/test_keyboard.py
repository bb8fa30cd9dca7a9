"""The bench by keyboard alone: no mouse, no focus lost."""

import pytest
from playwright.sync_api import expect

from tests.browser.steps import trace_file

pytestmark = pytest.mark.browser

NAMED = """(() => {
  const now = document.activeElement;
  return `${now.tagName} ${now.name || ""} ${now.textContent.trim().slice(0, 60)}`;
})()"""
OUTLINE = """(() => {
  const style = getComputedStyle(document.activeElement);
  return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
})()"""


def tab_to(page, wanted, *, most=60):
    """Press Tab until the focus is on what is wanted; on the way, every stop shows that it has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        now = page.evaluate(NAMED)
        if now.startswith("BODY"):
            continue  # past the end of the page; the next press begins at its top
        assert page.evaluate(OUTLINE), f"no visible focus on {now}"
        if wanted in now:
            return
    raise AssertionError(f"Tab did not reach {wanted}; it ended on {page.evaluate(NAMED)}")


def type_into(page, name, text):
    tab_to(page, name)
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


def taken_to(page, words):
    """The answer with these words has the focus: never the body."""
    heading = page.locator("[data-take-focus]").first
    expect(heading).to_contain_text(words)
    expect(heading).to_be_focused()
    assert page.evaluate(OUTLINE)


def test_sign_in_and_past_the_top(house, enter):
    page = enter(None)
    page.goto(f"{house.url}/sign-in/")
    type_into(page, "username", "tilly")
    type_into(page, "password", "not it")
    page.keyboard.press("Enter")
    taken_to(page, "You are not signed in yet.")
    expect(page.get_by_label("Username")).to_have_value("tilly")
    type_into(page, "password", house.passwords["tilly"])
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Today")
    page.keyboard.press("Tab")
    assert "Skip to the content" in page.evaluate(NAMED)
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def open_a_run(page, spare):
    tab_to(page, f"Open a run in {spare.code}")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Open a run in {spare.code}")
    type_into(page, "room_c", "warm")
    page.keyboard.press("Enter")
    taken_to(page, "Nothing was recorded")
    for name, text in {"tester": "Bench tester 1", "cell": "Load cell 10"}.items():
        tab_to(page, name)
        page.keyboard.type(text)
    type_into(page, "room_c", "23")
    type_into(page, "room_humidity", "50")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run")


def keep_two_with_a_refusal_between(page):
    """The page opens on the field of the force; after Keep it does so again."""
    offered = page.locator("input[name=specimen]").input_value()
    expect(page.locator("input[name=typed]")).to_be_focused()
    page.keyboard.type("1.53")
    page.keyboard.press("Enter")
    expect(page.get_by_role("group", name="How it came apart")).to_be_focused()
    assert page.evaluate(OUTLINE)
    page.keyboard.press("1")
    expect(page.locator(".messages")).to_contain_text(f"Kept: 1.53 lbf/in for {offered}.")
    expect(page.locator("input[name=typed]")).to_be_focused()

    offered = page.locator("input[name=specimen]").input_value()
    page.keyboard.type("one and a half")
    tab_to(page, "AP: adhesive peel")
    page.keyboard.press("Space")
    taken_to(page, "not a number")
    expect(page.locator("input[name=typed]")).to_have_value("one and a half")
    type_into(page, "typed", "1.5")
    page.keyboard.press("Enter")
    expect(page.locator(".messages")).to_contain_text(f"for {offered}.")


def attach_a_file(page, house, spare):
    expect(page.locator("input[name=typed]")).to_be_focused()
    with page.expect_file_chooser() as chooser:
        tab_to(page, "files")
        page.keyboard.press("Enter")
    chooser.value.set_files(trace_file(house, spare.in_a_file))
    tab_to(page, "Take the files")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Whose curve is whose")).to_be_visible()
    tab_to(page, "Keep the ticked curves")
    page.keyboard.press("Enter")
    taken_to(page, "Nothing was recorded")  # how it came apart has not been said
    tab_to(page, "curves-0-modes")
    page.keyboard.press("Space")
    tab_to(page, "Keep the ticked curves")
    page.keyboard.press("Enter")
    outcomes = page.get_by_role("region", name="What became of the curves")
    expect(outcomes.get_by_text("Kept", exact=True)).to_be_visible()
    expect(outcomes.get_by_role("link", name=spare.in_a_file)).to_be_visible()


def test_a_run_from_opening_to_closing(house, enter, spare):
    page = enter("tilly")
    page.goto(f"{house.url}/bench/")
    open_a_run(page, spare)
    keep_two_with_a_refusal_between(page)
    attach_a_file(page, house, spare)
    tab_to(page, "Back to the run")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run")
    kept = page.get_by_role("region", name="Results of this run")
    expect(kept.get_by_role("row")).to_have_count(4)
    tab_to(page, "Close the run")
    page.keyboard.press("Enter")
    expect(page.locator(".messages")).to_contain_text("is closed")


def test_a_focus_that_cannot_be_seen_is_noticed(house, enter):
    """The control of every stop above."""
    page = enter("tilly")
    page.goto(f"{house.url}/bench/")
    page.evaluate("document.querySelector('.site-nav a').style.outline = 'none'")
    with pytest.raises(AssertionError, match=r"no visible focus on A +Studies"):
        tab_to(page, "S-2026-0004 run 3")
