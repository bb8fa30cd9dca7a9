"""The key of a figure can be read: no name runs into the next, on a wide screen, a narrow one and on paper."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import NARROW, WIDE

pytestmark = pytest.mark.browser

PAGES = ("/studies/S-2026-0002/", "/studies/S-2026-0006/window/", "/studies/S-2026-0007/changes/")
LOOKS = {
    "wide": {"viewport": WIDE},
    "narrow": {"viewport": NARROW},
    "print": {"viewport": WIDE},
}
# Each name of each key: where its words are, and where its place ends.
NAMES = """() => [...document.querySelectorAll(".legend")].map((key) =>
  [...key.querySelectorAll(".traces")].map((entry) => {
    const words = entry.querySelector(".legendtext").getBoundingClientRect();
    return { name: entry.textContent, left: words.left, right: words.right, top: words.top, bottom: words.bottom };
  }))"""


def run_together(names) -> list[tuple[str, str]]:
    """Pairs of names of one key whose words share ink."""
    return [
        (one["name"], other["name"])
        for place, one in enumerate(names)
        for other in names[place + 1 :]
        if one["left"] < other["right"] and other["left"] < one["right"]
        if one["top"] < other["bottom"] - 2 and other["top"] < one["bottom"] - 2
    ]


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("where", PAGES)
def test_no_name_runs_into_the_next(house, enter, where, look):
    page = enter("edmund", **LOOKS[look])
    page.goto(house.url + where)
    expect(page.locator("svg.main-svg").first).to_be_visible()
    if look == "print":
        page.emulate_media(media="print")
        expect(page.locator("svg.main-svg").first).to_have_attribute("width", "640")
    keys = page.evaluate(NAMES)
    assert sum(map(len, keys)) >= 2
    assert [run_together(names) for names in keys if run_together(names)] == []


def test_control_names_that_run_together_are_noticed():
    one = {"name": "a", "left": 0, "right": 120, "top": 0, "bottom": 20}
    assert run_together([one, one | {"name": "b", "left": 100, "right": 200}]) == [("a", "b")]
    assert run_together([one, one | {"name": "b", "top": 26, "bottom": 46}]) == []
