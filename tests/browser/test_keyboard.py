"""The bench by keyboard alone: no mouse, no focus lost."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

FOCUS = """(() => {
  const now = document.activeElement;
  return `${now.tagName} ${(now.name || now.textContent || "").trim().slice(0, 60)}`;
})()"""
OUTLINE = "getComputedStyle(document.activeElement).outlineStyle + getComputedStyle(document.activeElement).boxShadow"


def tab_to(page, wanted, *, most=60):
    """Press Tab until the focus is on what is wanted; on the way, every stop shows that it has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUS)
        assert page.evaluate(OUTLINE) != "nonenone", f"no visible focus on {now}"
        if wanted in now:
            return
    raise AssertionError(f"Tab did not reach {wanted}; it ended on {page.evaluate(FOCUS)}")


def test_a_result_refused_then_kept(house, enter):
    page = enter(None)
    page.goto(f"{house.url}/sign-in/")
    tab_to(page, "username")
    page.keyboard.type("tilly")
    tab_to(page, "password")
    page.keyboard.type(house.passwords["tilly"])
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Today")

    page.keyboard.press("Tab")
    assert "Skip to the content" in page.evaluate(FOCUS)
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"

    tab_to(page, "S-2026-0004 run 3")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run 3")
    specimen = page.locator("input[name=specimen]").input_value()
    tab_to(page, "typed")
    page.keyboard.type("one and a half")
    tab_to(page, "modes")
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    expect(page.locator(".refusal-headline").first).to_be_focused()
    expect(page.locator("input[name=typed]")).to_have_value("one and a half")

    tab_to(page, "typed")
    page.keyboard.press("Control+a")
    page.keyboard.type("1.53")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text(f"Kept: 1.53 lbf/in for {specimen}.")
