"""Files that come by themselves show up on the bench page without a reload; a scanner is checked; search is used."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser import steps

pytestmark = pytest.mark.browser


def test_what_a_tester_writes_shows_up_without_a_reload_and_finds_its_run(house, enter, spare):
    page = enter("tilly")
    page.goto(f"{house.url}/bench/")
    page.evaluate("window.sameDocument = true")
    with steps.watching(house, "tilly") as folder:
        steps.drop_unnamed(house, folder, "trial of today.csv")
        link = page.get_by_role("link", name="trial of today.csv: say whose it is")
        expect(link).to_be_visible(timeout=60_000)
        assert page.evaluate("window.sameDocument")
        link.focus()
        steps.drop_unnamed(house, folder, "another trial.csv")
        expect(page.get_by_role("link", name="another trial.csv: say whose it is")).to_be_visible(timeout=60_000)
        expect(link).to_be_focused()
    link.press("Enter")
    page.get_by_label("It belongs to").select_option(f"study {spare.code}")
    page.get_by_role("button", name="Give it there").click()
    expect(page.locator(".messages")).to_contain_text("Nothing is kept as a result yet.")
    page.get_by_role("link", name="another trial.csv: say whose it is").click()
    page.get_by_label("Why it is set aside").fill("A trial pull of the new grips.")
    page.get_by_role("button", name="Set it aside").click()
    expect(page.locator(".messages")).to_contain_text("another trial.csv is set aside.")


def test_control_a_page_whose_updates_are_paused_shows_nothing_new(house, enter, spare):
    page, other = enter("bram"), enter("tilly")
    page.goto(f"{house.url}/bench/")
    page.get_by_role("button", name="Pause updates").click()
    other.goto(f"{house.url}/bench/")
    with steps.watching(house, "tilly") as folder:
        steps.drop_unnamed(house, folder, "while paused.csv")
        name = "while paused.csv: say whose it is"
        expect(other.get_by_role("link", name=name)).to_be_visible(timeout=60_000)
        expect(page.get_by_role("link", name=name)).to_have_count(0)
        page.get_by_role("button", name="Go on with updates").click()
        expect(page.get_by_role("link", name=name)).to_be_visible(timeout=60_000)


def test_without_a_script_the_page_works_by_reload(house, enter, spare):
    page = enter("bram", java_script_enabled=False)
    page.goto(f"{house.url}/bench/")
    with steps.watching(house, "tilly") as folder:
        steps.drop_unnamed(house, folder, "plain page.csv")
        for _ in range(60):
            if page.get_by_role("link", name="plain page.csv: say whose it is").count():
                break
            page.wait_for_timeout(500)
            page.reload()
    page.get_by_role("link", name="plain page.csv: say whose it is").click()
    expect(page.get_by_role("button", name="Give it there")).to_be_visible()


ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def scan(page, text):
    """A scanner's keys: F8, the characters, Enter."""
    page.keyboard.press("F8")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def test_a_scan_is_taken_whole_whatever_has_the_focus(house, enter, spare):
    page = enter("bram")
    page.goto(f"{house.url}/equipment/TS-000001-0/scanner/")
    page.get_by_label("Search by code or words").focus()
    scan(page, ALPHABET.replace("Y", "z").replace("Z", "Y").replace("z", "Z"))
    expect(page.get_by_role("heading", name="Did not pass")).to_be_visible()
    expect(page.get_by_role("region", name="Did not pass")).to_contain_text("Y came out as Z.")
    expect(page.get_by_label("Search by code or words")).to_have_value("")
    page.keyboard.press("F8")
    page.keyboard.type("0123")
    expect(page.get_by_text("That scan was cut short.")).to_be_visible()
    expect(page.get_by_label("Scan the test label here")).to_have_value("")
    scan(page, ALPHABET)
    expect(page.locator(".messages")).to_contain_text("Passed: the scanner at Bench tester 1")
    page.get_by_label("Scan the test label here").fill(ALPHABET)
    page.get_by_role("button", name="Check what came").click()
    expect(page.get_by_role("region", name="Checks of this scanner")).to_contain_text("as if typed")


def test_a_code_in_the_head_leads_straight_to_its_thing(house, enter, spare):
    page = enter("bram")
    page.goto(f"{house.url}/bench/")
    page.get_by_label("Search by code or words").fill(spare.held.replace("-", "").lower())
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/specimens/{spare.held}/")
    page.get_by_label("Search by code or words").fill("bench tester")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Items of equipment: [0-9]"))).to_be_visible()
