"""A link to a report: given by the client and by an engineer, opened by somebody without an account, and revoked."""

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of

pytestmark = pytest.mark.browser

WAYS = {"clara": "/reports/R-2026-0002/1/", "edmund": "/studies/S-2026-0002/"}
LEADS = {"clara": "Links for others", "edmund": "Links to the report"}


def given(page, house, who: str, whom: str) -> str:
    """Give a link through the pages, and take its address from the field."""
    page.goto(house.url + WAYS[who])
    page.get_by_role("link", name=LEADS[who]).click()
    page.get_by_label("For whom").fill(whom)
    page.get_by_role("button", name="Give a link").click()
    field = page.get_by_label("Address")
    assert faults_of(page) == []
    field.focus()
    assert field.evaluate("field => field.selectionEnd - field.selectionStart === field.value.length")
    return field.input_value()


@pytest.mark.parametrize("who", WAYS)
def test_a_link_is_given_read_and_revoked(house, enter, who):
    giver, whom = enter(who), f"An auditor, told by {who}"
    address = given(giver, house, who, whom)
    reader = enter(None)
    assert reader.goto(address).status == 200
    expect(reader.get_by_role("heading", name="The answer")).to_be_visible()
    expect(reader.get_by_role("navigation")).to_have_count(0)
    expect(reader.get_by_text(f"gave this link for {whom}")).to_be_visible()
    assert address.rstrip("/").rsplit("/", 1)[1] not in reader.content()
    assert faults_of(reader) == []
    assert reader.locator("main img").evaluate_all("all => all.every(image => image.naturalWidth > 0)")
    reader.get_by_role("link", name="SP-").first.click()
    assert faults_of(reader) == []
    reader.get_by_role("link", name="Back to report R-2026-0002").click()
    with reader.expect_download() as download:
        reader.get_by_role("link", name="Download the PDF").click()
    assert download.value.suggested_filename == "R-2026-0002-issue-1-report.pdf"
    giver.get_by_role("link", name="Back to the links").click()
    row = giver.get_by_role("row", name=whom)
    expect(row.get_by_role("cell").nth(5)).to_have_text("2")
    row.get_by_role("button", name="Revoke").click()
    expect(giver.get_by_role("row", name=whom)).to_contain_text("Revoked")
    assert faults_of(giver) == []
    assert reader.goto(address).status == 404
    assert faults_of(reader) == []


def test_the_address_is_copied_by_its_button(house, enter):
    page = enter("clara", permissions=["clipboard-read", "clipboard-write"])
    address = given(page, house, "clara", "Somebody who copies")
    page.get_by_role("button", name="Copy").click()
    expect(page.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == address


def test_the_page_sends_its_address_nowhere(house, enter):
    address = given(enter("clara"), house, "clara", "Somebody who follows")
    reader, sent = enter(None), []
    reader.on("request", lambda request: sent.append((request.url, request.headers.get("referer"))))
    reader.goto(address)
    assert len(sent) > 3
    assert {referer or None for _, referer in sent} == {None}
