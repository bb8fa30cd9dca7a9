"""The bench: a scan whatever has the focus, keys that keep, a second press, the keypad, sounds, and the run sheet."""

import re
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from labrecords.rules import labels
from tests.browser import steps
from tests.browser.looks import SIDEWAYS, faults_of

pytestmark = pytest.mark.browser

FOCUS = "document.activeElement.tagName"
PREFIX = "F8"
# Tones as they are started: the browser under test has no loudspeaker.
RECORDS_TONES = """
window.tones = JSON.parse(sessionStorage.getItem("tones") ?? "[]");
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (when) {
  window.tones.push(this.frequency.value);
  sessionStorage.setItem("tones", JSON.stringify(window.tones));
  return start.call(this, when);
};
"""


@pytest.fixture(scope="module")
def own(house, visit):
    """A study of the bench's own, with an open run of Tilly's."""
    engineer, _ = visit("edmund")
    code = steps.plan(engineer, house, title="Side seals for the bench", packs=14)
    engineer.context.close()
    page, _ = visit("tilly")
    spare = steps.receive(page, house, code)
    steps.open_run(page, house, code)
    run = page.url.rstrip("/").rsplit("/", 1)[1]
    page.context.close()
    return replace(spare, run=run)


@pytest.fixture
def bench(house, enter, own):
    """The bench of that run, with what it has put into the focus."""
    page = enter("tilly")
    page.add_init_script(RECORDS_TONES)
    page.goto(f"{house.url}/runs/{own.run}/")
    expect(force(page)).to_be_focused()
    return page


def force(page):
    return page.locator("input[name=typed]")


def in_hand(page):
    return page.locator("input[name=specimen]").input_value()


def modes(page):
    return page.get_by_role("group", name="How it came apart")


def said(page, words):
    expect(page.locator(".messages")).to_contain_text(words)


def scan(page, text, *, end=True):
    """As a scanner types it, with the prefix it was set to."""
    page.keyboard.press(PREFIX)
    page.keyboard.type(text.replace("-", ""))
    if end:
        page.keyboard.press("Enter")


def waiting(page):
    cells = page.locator("[data-strip] a[data-state=waiting]:not([aria-current])")
    return cells.first.get_attribute("data-label")


def test_a_result_by_keys_alone(bench):
    """Six keys from the force field to the next one; the keyboard never loses its place."""
    label = in_hand(bench)
    keys = ["1", ".", "5", "2", "Enter", "1"]
    assert len(keys) <= 8
    for key in keys:
        assert bench.evaluate(FOCUS) != "BODY"
        bench.keyboard.press(key)
    said(bench, f"Kept: 1.52 lbf/in for {label}.")
    expect(force(bench)).to_be_focused()
    expect(force(bench)).to_have_value("")
    assert in_hand(bench) != label
    expect(bench.locator(f"[data-strip] a[data-label={label}]")).to_have_attribute("data-state", "kept")
    assert bench.evaluate("window.tones") == [1320]


def test_digits_choose_only_where_the_modes_have_the_focus(bench):
    label = in_hand(bench)
    bench.keyboard.type("12")
    expect(force(bench)).to_have_value("12")
    bench.locator("#id_specimen").focus()
    bench.keyboard.press("End")
    bench.keyboard.type("1")
    bench.keyboard.press("Escape")
    assert in_hand(bench) == label
    force(bench).focus()
    bench.keyboard.press("Escape")
    expect(force(bench)).to_have_value("")
    expect(bench.locator(".messages .message")).to_have_count(0)


def test_what_does_not_peel_is_pressed_twice(bench):
    label = in_hand(bench)
    bench.keyboard.type("1.61")
    bench.keyboard.press("Enter")
    bench.keyboard.press("4")
    said(bench, f"Break at the seal of {label}: press it again to keep it.")
    expect(bench.get_by_role("button", name="BS: break at the seal")).to_contain_text("Press again to keep")
    assert bench.evaluate("window.tones") == [620, 620]
    bench.keyboard.press("5")  # another one: the first is forgotten
    said(bench, "Break away from the seal")
    bench.keyboard.press("Escape")
    assert in_hand(bench) == label
    expect(force(bench)).to_be_focused()
    bench.keyboard.press("Enter")
    bench.keyboard.press("4")
    said(bench, f"Break at the seal of {label}")
    bench.wait_for_timeout(80)
    bench.keyboard.press("4")
    said(bench, f"Kept: 1.61 lbf/in for {label}.")


def test_opened_before_the_test_is_pressed_twice_and_needs_no_force(bench):
    label = in_hand(bench)
    key = bench.get_by_role("button", name="Opened before the test")
    key.click()
    said(bench, "press it again to keep it")
    bench.wait_for_timeout(80)
    key.click()
    said(bench, f"Kept: opened before the test for {label}.")


def test_several_modes_are_chosen_and_then_kept(bench):
    label = in_hand(bench)
    bench.get_by_role("button", name="More than one").click()
    bench.get_by_role("button", name="AP: adhesive peel").click()
    bench.get_by_role("button", name="CO: cohesive peel").click()
    said_nothing = bench.locator(".messages .message")
    expect(said_nothing).to_have_count(0)
    force(bench).fill("1.44")
    force(bench).press("Enter")
    said(bench, f"Kept: 1.44 lbf/in for {label}.")
    expect(bench.get_by_role("row", name=label)).to_contain_text("AP, CO")


def test_the_mode_may_be_chosen_before_the_force(bench):
    label = in_hand(bench)
    bench.get_by_role("button", name="AP: adhesive peel").click()
    said(bench, "Now the force, then Enter.")
    expect(force(bench)).to_be_focused()
    bench.keyboard.type("1.38")
    bench.keyboard.press("Enter")
    said(bench, f"Kept: 1.38 lbf/in for {label}.")


def test_a_scan_goes_to_its_specimen_and_nothing_of_it_reaches_a_field(bench):
    label = waiting(bench)
    force(bench).evaluate("f => f.addEventListener('input', () => sessionStorage.setItem('leaked', f.value)) ")
    scan(bench, label)
    bench.wait_for_url(f"**?specimen={label}")
    assert in_hand(bench) == label
    expect(force(bench)).to_be_focused()
    expect(force(bench)).to_have_value("")
    assert bench.evaluate("sessionStorage.getItem('leaked')") is None


def test_a_scan_while_a_force_is_typed_loses_neither(bench):
    label, other = in_hand(bench), waiting(bench)
    bench.keyboard.type("1.47")
    scan(bench, other)
    said(bench, f"1.47 is typed for {label} and not kept.")
    expect(force(bench)).to_have_value("1.47")
    assert in_hand(bench) == label
    scan(bench, label)
    said(bench, f"{label} is in hand.")
    expect(force(bench)).to_have_value("1.47")
    expect(force(bench)).to_be_focused()


def test_without_the_frame_a_scan_would_leak(bench):
    """The control: the same keys without the prefix are typing like any other, so the frame it is that keeps them."""
    bench.keyboard.type("9.3")
    bench.get_by_text("This bench: scanner and size of keys").click()
    bench.get_by_label("A scanner sends F8").uncheck()
    force(bench).focus()
    scan(bench, "SP-000123-N", end=False)
    expect(force(bench)).to_have_value("9.3SP000123N")
    bench.get_by_label("A scanner sends F8").check()


def test_a_scan_that_is_cut_short_is_dropped_and_told(bench):
    bench.keyboard.type("1.4")
    scan(bench, "SP-0001", end=False)
    expect(force(bench)).to_have_value("1.4")
    said(bench, "That scan was cut short. Nothing was recorded. Scan the label again.")
    expect(force(bench)).to_have_value("1.4")
    bench.keyboard.type("7")
    expect(force(bench)).to_have_value("1.47")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("SP000123A", "Read the label again"),
        (labels.label("LC", 5), "That is the label of a load cell"),
        ("nonsense", "is not a label code"),
    ],
)
def test_a_label_that_is_not_wanted_is_named(bench, text, words):
    label = in_hand(bench)
    scan(bench, text)
    said(bench, words)
    assert in_hand(bench) == label
    expect(force(bench)).to_be_focused()
    assert bench.evaluate("window.tones") == [196]


def test_a_finished_specimen_is_told_and_can_be_seen(bench):
    label = in_hand(bench)
    for key in ("1", ".", "5", "Enter", "1"):
        bench.keyboard.press(key)
    said(bench, f"for {label}.")
    scan(bench, label)
    said(bench, f"Already recorded: {label} has")
    bench.get_by_role("link", name=f"See {label}", exact=True).click()
    heading = bench.locator("[data-take-focus]")
    expect(heading).to_contain_text("Already recorded")
    expect(heading).to_be_focused()
    bench.get_by_role("link", name="Go on with the next specimen").click()
    expect(force(bench)).to_be_focused()


def test_the_keypad_types_once_a_press(house, enter, own):
    page = enter("tilly", has_touch=True, is_mobile=True, viewport={"width": 1180, "height": 820})
    page.goto(f"{house.url}/runs/{own.run}/")
    pad = page.get_by_role("group", name="Keypad")
    expect(pad).to_be_visible()
    assert force(page).evaluate("field => field.inputMode") == "none"
    for key in ("1", "decimal point .", "4"):
        pad.get_by_role("button", name=key, exact=True).tap()
    seven = pad.get_by_role("button", name="7", exact=True)
    seven.evaluate("key => { key.click(); key.click(); }")  # a bounce
    expect(force(page)).to_have_value("1.47")
    page.wait_for_timeout(80)
    seven.evaluate("key => key.click()")  # the control: the same key again, later
    expect(force(page)).to_have_value("1.477")
    pad.get_by_role("button", name="delete last digit").tap()
    expect(force(page)).to_have_value("1.47")
    # pressed and slid off before the release: nothing
    box = pad.get_by_role("button", name="9", exact=True).bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(5, 5)
    page.mouse.up()
    expect(force(page)).to_have_value("1.47")
    pad.get_by_role("button", name="Enter").tap()
    expect(modes(page)).to_be_focused()
    tap = page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--tap')")
    assert tap.strip() == "6.5rem"
    assert min(seven.bounding_box()["width"], seven.bounding_box()["height"]) >= 104  # 20 mm at 132 px an inch
    assert faults_of(page) == []


def test_the_ruler_sets_the_size_of_the_keys_and_it_is_remembered(bench):
    bench.get_by_text("This bench: scanner and size of keys").click()
    bench.get_by_role("button", name="Longer").click()
    key = bench.get_by_role("button", name="AP: adhesive peel")
    expect(bench.get_by_text("A key of 20 mm is 77 px here.")).to_be_visible()
    card = bench.get_by_label("Lay a bank card")
    card.evaluate("slider => { slider.value = 600; slider.dispatchEvent(new Event('input')); }")
    bench.reload()
    assert key.bounding_box()["height"] >= 140  # 600 px for 85.6 mm are 140 px for 20


def test_sound_is_switched_off_and_stays_off(bench):
    chip = bench.get_by_role("button", name="Sound")
    chip.click()
    expect(chip).to_have_text(re.compile(r"Sound\s+off"))
    bench.reload()
    expect(chip).to_have_attribute("aria-pressed", "false")
    scan(bench, "nonsense")
    said(bench, "is not a label code")
    assert bench.evaluate("window.tones") == []


OUTBOX = (
    "([kind, detail]) => document.querySelector('form[data-outbox]').dispatchEvent(new CustomEvent(kind, {detail}))"
)


def test_the_next_specimen_comes_while_an_entry_waits_to_be_sent(bench):
    label, following = in_hand(bench), waiting(bench)
    force(bench).fill("1.5")
    bench.evaluate(OUTBOX, ["outbox:waiting", {}])
    said(bench, f"On this device, not yet sent: {label}.")
    assert in_hand(bench) == following != label
    expect(force(bench)).to_have_value("")
    expect(force(bench)).to_be_focused()
    expect(bench.locator(f"[data-strip] a[data-label={label}]")).to_contain_text("not yet sent")
    late = {"outcome": "refused", "late": True, "entry": {"fields": [["specimen", label]]}}
    bench.evaluate(OUTBOX, ["outbox:refused", late])
    said(bench, f"{label} was refused on arrival.")
    expect(bench.locator(f"[data-strip] a[data-label={label}]")).to_contain_text("held")
    assert in_hand(bench) == following
    bench.evaluate(OUTBOX, ["outbox:kept", late | {"outcome": "kept"}])
    expect(bench.locator(f"[data-strip] a[data-label={label}]")).to_have_attribute("data-state", "kept")


def test_it_works_without_a_script(house, enter, own):
    page = enter("tilly", java_script_enabled=False)
    page.goto(f"{house.url}/runs/{own.run}/")
    label = in_hand(page)
    page.get_by_label("Maximum", exact=False).first.fill("1.29")
    page.get_by_label("AP: adhesive peel").check()
    page.get_by_role("button", name="Keep this result").click()
    said(page, f"Kept: 1.29 lbf/in for {label}.")


def test_a_trace_that_waits_gives_the_force(house, bench, own):
    label = in_hand(bench)
    bench.locator("input[name=files]").set_input_files(steps.trace_file(house, label))
    bench.get_by_role("button", name="Take the files").click()
    bench.get_by_role("heading", name="Whose curve is whose").wait_for()
    bench.get_by_role("link", name="Back to the run").click()
    expect(bench.get_by_role("img", name=re.compile("^Trace: peak "))).to_be_visible()
    expect(modes(bench)).to_be_focused()
    told = bench.locator(".trace strong").inner_text()
    assert faults_of(bench) == []
    bench.keyboard.press("1")
    expect(bench.get_by_role("row", name=label)).to_contain_text("AP")
    bench.goto(f"{house.url}/specimens/{label}/")
    expect(bench.get_by_role("region", name="Result")).to_contain_text(told)


def test_the_run_sheet_as_a_grid(house, bench, own):
    bench.get_by_role("link", name="Run sheet").click()
    bench.wait_for_url("**/sheet/")  # loaded: before its script, Enter is the form's own
    rows = bench.locator("table[data-sheet] input[name$='-typed']")
    first, second = rows.nth(0), rows.nth(1)
    first.focus()
    bench.keyboard.type("1.11")
    bench.keyboard.press("Enter")
    expect(second).to_be_focused()
    bench.keyboard.type("12x")
    bench.keyboard.press("Escape")
    expect(second).to_have_value("")
    bench.keyboard.type("a lot")
    bench.keyboard.press("Shift+Enter")
    expect(first).to_be_focused()
    bench.keyboard.press("Tab")
    bench.keyboard.type("ap")
    bench.keyboard.press("Enter")
    bench.keyboard.type("ap")
    assert faults_of(bench) == []
    bench.get_by_role("button", name="Keep the rows that are filled in").click()
    expect(bench.locator("[data-take-focus]")).to_contain_text("1 of 2 rows kept.")
    expect(bench.locator("[data-take-focus]")).to_be_focused()
    expect(bench.get_by_text("'a lot' is not a number")).to_be_visible()
    expect(rows.nth(0)).to_have_value("a lot")
    assert faults_of(bench) == []


def test_nothing_scrolls_sideways_when_narrow(house, enter, own):
    page = enter("tilly", viewport={"width": 320, "height": 800})
    page.goto(f"{house.url}/runs/{own.run}/")
    page.get_by_role("button", name="Keypad").click()
    expect(page.get_by_role("group", name="Keypad")).to_be_visible()
    assert page.evaluate(SIDEWAYS) <= 0
    assert faults_of(page) == []
