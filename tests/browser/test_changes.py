"""Values have moved: the engineer asks what changed, and is told of the swapped load cell."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser


def test_a_swapped_cell_is_found_from_the_study_s_page(house, enter):
    page = enter("edmund")
    page.goto(f"{house.url}/studies/S-2026-0007/")
    page.get_by_role("link", name="Look for what changed").click()
    finding = page.get_by_role("region", name="Finding")
    expect(finding).to_contain_text("lower than the first")
    expect(finding).to_contain_text("load cell and calibration of the cell changed together")
    expect(finding).to_contain_text("Hang one check mass on both cells")
    page.get_by_role("combobox", name="Two groups").select_option("the two groups picked below")
    page.get_by_role("combobox", name="This group").select_option(index=2)
    page.get_by_role("combobox", name="Beside this one").select_option(index=1)
    page.get_by_role("button", name="Look", exact=True).click()
    expect(finding).to_contain_text("higher than the first")
    assert faults_of(page) == []
