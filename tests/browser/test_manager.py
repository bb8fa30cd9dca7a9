"""The manager's morning, and what a technician meets at the bench: in a real browser."""

import pytest

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser


def test_the_manager_sees_what_stops_work_and_follows_it(house, enter, spare):
    page = enter("harriet")
    page.goto(house.url)
    page.get_by_role("link", name="Stops work now:").click()
    page.get_by_role("link", name="Load cell 200 N").first.click()
    page.get_by_text("beyond three sigma").wait_for()
    page.get_by_role("link", name="Checks before use").click()
    page.get_by_text("1 of 13 readings broke a rule.").wait_for()
    assert faults_of(page) == []


def test_from_a_calibration_to_what_it_touched_and_the_work_it_opened(house, enter, spare):
    page = enter("harriet")
    page.goto(f"{house.url}/equipment/")
    page.get_by_role("link", name="Bench tester 2").click()
    page.get_by_role("link", name="What was affected").click()
    page.get_by_text("12 results").first.wait_for()
    page.get_by_text("client: Bogbean Implants").wait_for()
    page.get_by_text("Show the results").click()
    page.get_by_role("cell", name="T-0931").first.wait_for()
    page.get_by_role("link", name=spare.nonconformity).click()
    # work cannot resume before the client has been told
    page.get_by_role("combobox", name="Step").select_option("work resumed")
    page.get_by_label("In words").fill("Values are too low, never too high.")
    page.get_by_role("button", name="Record the step").click()
    page.get_by_text("the client has not been told").first.wait_for()
    assert page.get_by_label("In words").input_value() == "Values are too low, never too high."
    assert faults_of(page) == []


def test_a_calibration_typed_with_a_mistake_loses_nothing(house, enter):
    page = enter("harriet")
    page.goto(f"{house.url}/equipment/")
    page.get_by_role("link", name="Load cell 10 lbf").click()
    page.get_by_role("link", name="Record a calibration").click()
    page.get_by_label("Certificate number").fill("SK-50001")
    page.get_by_label("Calibration laboratory").fill("Skarholm Force Standards")
    page.get_by_label("Performed on").fill("2026-11-20")
    page.get_by_label("Within tolerance").check()
    page.get_by_label("Points as found").fill("1 1.001\n2 two")
    page.get_by_role("button", name="Record").click()
    page.get_by_text("Line 2:").first.wait_for()
    assert page.get_by_label("Certificate number").input_value() == "SK-50001"
    assert page.get_by_label("Points as found").input_value() == "1 1.001\n2 two"
    assert faults_of(page) == []
