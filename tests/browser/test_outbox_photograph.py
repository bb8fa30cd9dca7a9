"""A photograph taken without a server: through a killed browser, and on record once, behind its result."""

import hashlib
import json
import urllib.request

import pytest
from playwright.sync_api import expect

from tests.browser.looks import faults_of
from tests.browser.test_outbox import (
    bench,
    chip,
    keep,
    on_device_still,
    on_record,
    open_run,
    study,
    wait_for_all_sent,
    wire,
)
from tests.photos import pictures

__all__ = ["bench", "study", "wire"]
pytestmark = pytest.mark.browser

CONTENT = pictures.jpeg("taken without a server")
SHARE = 0.5  # of answers that are lost
KEY_OF_EACH_TRY = (
    "/static/js/outbox_send.js",
    "fields.forEach(([name, value]) => form.append(name, value));",
    'fields.forEach(([name, value]) => form.append(name, name === "key" ? uuid() : value));',
)


def photograph(page, content=CONTENT, *, caption="Webs apart.") -> None:
    page.get_by_text("Photograph a strip").click()
    file = {"name": "strip.jpg", "mimeType": "image/jpeg", "buffer": content}
    page.locator("[data-photograph] input[name=chosen]").set_input_files(file)
    page.locator("[data-photograph] input[name=caption]").fill(caption)
    page.get_by_role("button", name="Attach the photograph").click()


def kept(house, code: str) -> list[dict]:
    """The study's photographs, asked of the programming interface, past the browser and the wire."""
    address = f"{house.url}/api/studies/{code}/photographs/"
    request = urllib.request.Request(address, headers={"Authorization": f"Token {house.token}"})
    with urllib.request.urlopen(request) as answer:
        return json.load(answer)["photographs"]


def walk(bench, wire, spare) -> None:
    address, label = open_run(bench, spare.code), spare.specimens[0]
    wire.to.stop()
    keep(bench.page, label, "1.44")
    expect(chip(bench.page)).to_contain_text("Not yet sent: 1")
    photograph(bench.page)
    expect(bench.page.locator(".messages")).to_contain_text(f"not yet sent: the photograph of {label}.")
    expect(chip(bench.page)).to_contain_text("Not yet sent: 2")
    bench.kill()
    bench.start()
    bench.page.goto(address)
    expect(chip(bench.page)).to_contain_text("Not yet sent: 2")
    wire.share = SHARE
    wire.to.start()
    bench.page.goto(address)
    if "sign-in" in bench.page.url:  # a browser that is killed may forget that somebody was signed in
        bench.sign_in()
        bench.page.goto(address)
    wait_for_all_sent([bench.page], 2)


def test_it_waits_on_the_device_and_is_kept_once_behind_its_result(bench, wire, house, study):
    spare = study(1)
    walk(bench, wire, spare)
    assert wire.dropped > 0, "no answer was lost, so nothing was shown"
    assert on_device_still(bench.page) == []
    label = spare.specimens[0]
    assert on_record(house, spare.code) == {label: ["1.44"]}
    [photo] = kept(house, spare.code)
    digest = hashlib.sha256(CONTENT).hexdigest()
    assert (photo["specimen"], photo["caption"], photo["sha256"]) == (label, "Webs apart.", digest)


def test_control_a_key_made_anew_at_each_try_is_noticed(bench, wire, study):
    address, *texts = KEY_OF_EACH_TRY
    wire.altered[address] = tuple(texts)
    with pytest.raises(AssertionError, match="Held"):
        walk(bench, wire, study(1))


def test_what_is_refused_is_held_and_set_aside_with_its_reason(bench, wire, house, study):
    spare = study(1)
    open_run(bench, spare.code)
    page = bench.page
    keep(page, spare.specimens[0], "1.44")
    expect(page.locator(".messages")).to_contain_text("Kept: 1.44")
    photograph(page, b"\xff\xd8\xff no photograph")
    expect(page.locator(".messages")).to_contain_text("was refused. It is held on this device.")
    page.get_by_role("link", name="See why").click()
    held = page.locator("article", has=page.get_by_role("heading", name=f"Photograph of {spare.specimens[0]}"))
    expect(held.locator(".refusal")).to_contain_text("this is no photograph that can be kept")
    expect(held.get_by_role("link", name="Change it on the bench page")).to_have_count(0)
    assert faults_of(page) == []
    held.get_by_label("Why it is set aside").fill("The tablet’s memory was full.")
    held.get_by_role("button", name="Set aside").click()
    expect(page.get_by_text("Nothing is held.")).to_be_visible()
    assert kept(house, spare.code) == []


def test_one_is_attached_while_everything_answers(bench, wire, house, study):
    spare = study(1)
    open_run(bench, spare.code)
    page = bench.page
    keep(page, spare.specimens[0], "1.44")
    expect(page.locator(".messages")).to_contain_text("Kept: 1.44")
    photograph(page, pictures.jpeg("while everything answers"))
    expect(page.locator(".messages")).to_contain_text(f"The photograph is kept with {spare.specimens[0]}.")
    expect(page.locator("[data-photograph] input[name=chosen]")).to_be_focused()
    assert len(kept(house, spare.code)) == 1
