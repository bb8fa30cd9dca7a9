"""Keyboard alone, a whole run: twenty values, two of them mistyped, one corrected, one voided, a file, the end of it.

And a load cell that may no longer be used, in the middle of a run: another is chosen, and the draft comes along.
"""

import pytest
from playwright.sync_api import expect

from tests.browser import steps
from tests.browser.test_keyboard import OUTLINE, tab_to, taken_to, type_into
from tests.browser.test_keyboard_roles import heading, press
from tests.browser.test_technician import refused

pytestmark = pytest.mark.browser

VALUES = 20
MOST_KEYS = 8  # a specimen, by the look guide
WRONG, LETTERS = 6, 12  # the specimens of the two errors
FOCUS = "document.activeElement && document.activeElement !== document.body"
FOCUS_OR_LOADING = f"document.readyState !== 'complete' || ({FOCUS})"


class Keys:
    """A keyboard that counts, and sees after each key that the focus is on something."""

    def __init__(self, page):
        self.page, self.count = page, 0

    def __call__(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)
            self.count += 1
            assert self.page.evaluate(FOCUS_OR_LOADING), f"after {key} the focus was on the page's body"


@pytest.fixture
def page(house, enter):
    """Somebody who has signed in by keys, at the door of a study of their own with room for all that is typed."""
    engineer = enter("edmund")
    code = steps.plan(engineer, house, title="Side seals by keys alone", packs=VALUES + 1)
    technician = enter("tilly")
    made = steps.receive(technician, house, code)
    found = enter(None)
    found.made = made
    found.goto(f"{house.url}/sign-in/")
    type_into(found, "username", "tilly")
    type_into(found, "password", house.passwords["tilly"])
    found.keyboard.press("Enter")
    heading(found, "Today")
    return found


def follow(page, wanted, *, most=60):
    """To what has this name, and on to where it leads."""
    with page.expect_navigation():
        press(page, wanted, most=most)


def open_a_run(page, *, cell="Load cell 10"):
    follow(page, "Bench")
    follow(page, f"Open a run in {page.made.code}", most=80)
    heading(page, f"Open a run in {page.made.code}")
    for name, words in {"tester": "Bench tester 1", "cell": cell}.items():
        tab_to(page, name)
        page.keyboard.type(words)
    type_into(page, "room_c", "23")
    type_into(page, "room_humidity", "50")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Run")


def said_aloud(page, words):
    """It stands in a live region, so that it is heard and not only seen."""
    expect(page.locator("[role=status], [role=alert]").filter(has_text=words).first).to_be_visible()


def has_focus(page):
    """Something has the focus again, once the page has been loaded anew."""
    for _ in range(40):
        if page.evaluate(FOCUS):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the focus was on the page's body")


def keep(page, value, keys):
    force = page.locator("input[name=typed]")
    expect(force).to_be_focused()
    label = page.locator("input[name=specimen]").input_value()
    keys(*value, "Enter", "1")
    said_aloud(page, f"Kept: {value} lbf/in for {label}.")
    has_focus(page)
    return label


def mistype(page, wrong, words, keys):
    """A wrong value is asked about or refused, and cleared with one key."""
    expect(page.locator("input[name=typed]")).to_be_focused()
    keys(*wrong, "Enter", "1")
    taken_to(page, words)
    force = page.locator("input[name=typed]")
    expect(force).to_have_value(wrong)  # what was typed is not lost
    tab_to(page, "typed", most=30)
    keys("Escape")
    expect(force).to_have_value("")
    expect(force).to_be_focused()


def test_a_run_of_twenty_with_all_that_happens_in_one(house, page):
    open_a_run(page)
    labels, counts = [], []
    for number in range(VALUES):
        if number == WRONG:
            mistype(page, "15.3", "Check:", Keys(page))
        if number == LETTERS:
            mistype(page, "ab", "not a number", Keys(page))
        keys = Keys(page)
        labels.append(keep(page, f"1.{40 + number}", keys))
        counts.append(keys.count)
    assert len(set(labels)) == VALUES
    assert max(counts) <= MOST_KEYS, counts
    correct_one(page, labels[3])
    void_one(page, labels[4])
    attach_a_file(page, house)
    tab_to(page, "Close the run", most=150)
    page.keyboard.press("Enter")
    said_aloud(page, "is closed")


def correct_one(page, label):
    """A mistyped digit, with its reason, while the run is open."""
    follow(page, label, most=120)
    heading(page, f"Specimen {label}")
    follow(page, "Correct", most=80)
    tab_to(page, "reason")
    page.keyboard.type("slip of")
    type_into(page, "typed", "1.34")
    tab_to(page, "words")
    page.keyboard.type("Read again from the printout.")
    follow(page, "correction", most=20)
    expect(page.get_by_role("heading", level=1)).to_contain_text(label)
    said_aloud(page, f"{label} is corrected.")
    expect(page.get_by_role("region", name="Result")).to_contain_text("1.34 lbf/in")


def void_one(page, label):
    follow(page, "Bench")
    follow(page, f"{page.made.code} run 1", most=80)
    follow(page, label, most=120)
    follow(page, "Void", most=80)
    tab_to(page, "cause")
    page.keyboard.type("the strip slipped")
    tab_to(page, "words")
    page.keyboard.type("It slipped in the upper grip.")
    follow(page, "Void", most=20)
    said_aloud(page, "void")


def attach_a_file(page, house):
    follow(page, "Bench")
    follow(page, f"{page.made.code} run 1", most=80)
    with page.expect_file_chooser() as chooser:
        tab_to(page, "files", most=150)
        page.keyboard.press("Enter")
    chooser.value.set_files(steps.trace_file(house, page.made.specimens[VALUES]))
    follow(page, "Take the files", most=20)
    expect(page.get_by_role("heading", name="Whose curve is whose")).to_be_visible()
    tab_to(page, "curves-0-modes")
    page.keyboard.press("Space")
    follow(page, "Keep the ticked curves")
    outcomes = page.get_by_role("region", name="What became of the curves")
    expect(outcomes.get_by_text("Kept", exact=True)).to_be_visible()
    follow(page, "Back to the run")


def test_a_load_cell_that_may_no_longer_be_used_gives_way_to_another(house, page, enter):
    open_a_run(page)
    keys = Keys(page)
    keep(page, "1.51", keys)
    cell = take_out_of_service(enter("harriet"), house)
    try:
        label = page.locator("input[name=specimen]").input_value()
        keys(*"1.47", "Enter", "1")
        refused(page, "out of service")
        follow(page, "Go on with other equipment", most=10)
        heading(page, f"Open a run in {page.made.code}")
        tab_to(page, "SELECT cell")
        page.keyboard.type("Load cell 20 N")  # out of date
        type_into(page, "room_c", "23")
        type_into(page, "room_humidity", "50")
        page.keyboard.press("Enter")
        refused(page, "past its calibration date")
        press(page, "Choose another load cell", most=5)
        assert page.evaluate("document.activeElement.name") == "cell"
        assert page.evaluate(OUTLINE)
        page.keyboard.type("Load cell 50")
        tab_to(page, "Open the run")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_contain_text("Run 2")
        expect(page.locator("input[name=specimen]")).to_have_value(label)
        expect(page.locator("input[name=typed]")).to_have_value("1.47")  # typed before, and never lost
        expect(page.locator("input[name=typed]")).to_be_focused()
        keys("Enter")
        said_aloud(page, f"Kept: 1.47 lbf/in for {label}.")
        expect(page.locator("[data-outbox-words]")).not_to_contain_text("Held")
    finally:
        put_back(enter("harriet"), house, cell)


def take_out_of_service(page, house):
    page.goto(f"{house.url}/equipment/")
    page.get_by_role("link", name="Load cell 10 lbf").first.click()
    where = page.url
    record(page, "out of service", "It was dropped, and is to be looked at.")
    return where


def put_back(page, house, where):
    page.goto(where)
    record(page, "back", "It reads right: checked against the mass.")


def record(page, what, why):
    field = page.locator("select[name=kind]")
    field.select_option(label=next(words for words in field.locator("option").all_inner_texts() if what in words))
    page.get_by_label("Reason, or what was found").fill(why)
    page.get_by_role("button", name="Record what happened").click()
    page.get_by_role("status").first.wait_for()
