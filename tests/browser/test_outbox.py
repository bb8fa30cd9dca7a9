"""Nothing typed at the bench is lost: server dead, page loaded anew, browser killed, answers lost, two tabs.

The long form: LABRECORDS_OFFLINE=200 .venv/bin/pytest -s tests/browser/test_outbox.py
The server's process is ended, not the browser's switch flipped; the browser is ended by SIGKILL and started anew.
"""

import contextlib
import json
import os
import pathlib
import re
import signal
import time
import urllib.request
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from tests.browser import steps
from tests.browser.house import CHROMIUM, FLAGS, sign_in
from tests.browser.looks import faults_of
from tests.browser.wire import wired

pytestmark = pytest.mark.browser

ENTRIES = int(os.environ.get("LABRECORDS_OFFLINE", "12"))
CONTROLS = 4  # entries of a control: each answer but one in three is lost there
SEED = 20261126
KEY_OF_EACH_TRY = (
    "/static/js/outbox_send.js",
    "new URLSearchParams(fields)",
    'new URLSearchParams(fields.map(([name, said]) => [name, name === "key" ? uuid() : said]))',
)
QUEUE_IN_MEMORY = ("/static/js/outbox_store.js", "`labrecords ${person}`", "`labrecords ${person} ${Math.random()}`")


class Bench:
    """One person's browser with a profile of its own, which can be killed and started anew."""

    def __init__(self, chromium, house, profile: pathlib.Path) -> None:
        self.chromium, self.house, self.profile = chromium, house, profile
        self.context = None
        self.start()

    def start(self) -> None:
        self.context = self.chromium.browser_type.launch_persistent_context(
            self.profile, executable_path=CHROMIUM, args=FLAGS, reduced_motion="reduce"
        )
        self.context.set_default_timeout(20_000)

    @property
    def page(self):
        return self.context.pages[0]

    def kill(self) -> None:
        """SIGKILL to every process of this profile, then wait until the driver has noticed."""
        with self.context.expect_event("close", timeout=20_000):
            for process in pathlib.Path("/proc").glob("[0-9]*"):
                with contextlib.suppress(OSError):
                    if f"--user-data-dir={self.profile}".encode() in (process / "cmdline").read_bytes().split(b"\0"):
                        os.kill(int(process.name), signal.SIGKILL)

    def sign_in(self) -> None:
        sign_in(self.page, self.house, "bram")


@pytest.fixture
def wire(house):
    with wired(house, seed=SEED) as wire:
        yield wire


@pytest.fixture
def bench(wire, house, chromium, tmp_path):
    bench = Bench(chromium, replace(house, url=wire.url), tmp_path / "profile")
    yield bench
    with contextlib.suppress(Exception):
        bench.context.close()


@pytest.fixture
def study(house, visit):
    """A study with as many specimens as are wanted, ready for its first run."""
    opened = []

    def of(packs: int):
        engineer, _ = visit("edmund")
        technician, _ = visit("bram")
        opened.extend([engineer, technician])
        code = steps.plan(engineer, house, title="Side seals typed while the server was away", packs=packs)
        return steps.receive(technician, house, code)

    yield of
    for page in opened:
        page.context.close()


def force(number: int) -> str:
    return f"{1.40 + number % 40 / 100:.2f}"


def chip(page):
    return page.locator("[data-outbox-words]")


def keep(page, specimen: str, maximum: str) -> None:
    page.locator("input[name=specimen]").fill(specimen)
    page.get_by_label("Maximum").first.fill(maximum)
    page.get_by_role("button", name="AP: adhesive peel").click()


def open_run(bench, code: str) -> str:
    """A run is opened, and its page is kept on the device before the server goes away."""
    bench.sign_in()
    steps.open_run(bench.page, bench.house, code)
    expect(bench.page.get_by_role("heading", level=1)).to_contain_text("Run")
    on_device(bench.page)
    return bench.page.url


def on_device(page) -> None:
    kept = """async () => {
      const names = (await caches.keys()).filter((name) => name.startsWith("labrecords run "));
      const held = await Promise.all(names.map(async (name) => (await (await caches.open(name)).keys()).length));
      return held.some((count) => count > 8) && navigator.serviceWorker.controller !== null;
    }"""
    until = time.monotonic() + 30
    while not page.evaluate(kept):
        assert time.monotonic() < until, "the page is not kept on the device"
        page.wait_for_timeout(50)


def on_record(house, code: str) -> dict[str, list[str]]:
    """Values on record by specimen, asked of the programming interface, past the browser and the wire."""
    found, after = {}, ""
    while after is not None:
        address = f"{house.url}/api/studies/{code}/results/?limit=100" + (f"&after={after}" if after else "")
        request = urllib.request.Request(address, headers={"Authorization": f"Token {house.token}"})
        with urllib.request.urlopen(request) as answer:
            page = json.load(answer)
        for result in page["results"]:
            found.setdefault(result["specimen"], []).append(result["recorded"])
        after = page["next"]
    return found


def walk(bench, wire, specimens: list[str], code: str, *, share: float = 0.3) -> dict[str, str]:
    """Entries typed without a server, through every misfortune; what was typed, by specimen."""
    address = open_run(bench, code)
    typed = {specimen: force(number) for number, specimen in enumerate(specimens)}
    before, after = list(typed.items())[:-1], list(typed.items())[-1]
    wire.to.stop()
    for count, (specimen, maximum) in enumerate(before, start=1):
        keep(bench.page, specimen, maximum)
        expect(chip(bench.page)).to_contain_text(f"Not yet sent: {count}")
        expect(bench.page.get_by_label("Maximum").first).to_have_value("")
    bench.page.reload()
    expect(chip(bench.page)).to_contain_text(f"Not yet sent: {len(before)}")
    keep(bench.page, *after)
    expect(chip(bench.page)).to_contain_text(f"Not yet sent: {len(typed)}")
    bench.kill()
    bench.start()
    bench.page.goto(address)
    expect(chip(bench.page)).to_contain_text(f"Not yet sent: {len(typed)}")
    bench.context.clear_cookies()
    wire.share = share
    wire.to.start()
    bench.page.evaluate("dispatchEvent(new Event('focus'))")
    expect(chip(bench.page)).to_contain_text("Sign in again to send them", timeout=40_000)
    expect(chip(bench.page)).to_contain_text(f"Not yet sent: {len(typed)}")
    bench.sign_in()
    tabs = [bench.page, bench.context.new_page()]
    for tab in tabs:
        tab.goto(address)
    wait_for_all_sent(tabs, len(typed))
    return typed


def wait_for_all_sent(tabs, count: int) -> None:
    """Asked of the device first: a page just opened says nothing yet, so that its words alone would show nothing."""
    until = time.monotonic() + 60 + 3 * count
    while "waiting" in on_device_still(tabs[0]):
        assert time.monotonic() < until, "not everything was sent"
        tabs[0].wait_for_timeout(100)
    for tab in tabs:
        expect(chip(tab)).not_to_contain_text("Not yet sent")
        expect(chip(tab)).to_be_visible()
        expect(chip(tab)).not_to_contain_text("Held")


def on_device_still(page) -> list[str]:
    """The state of every entry on the device: waiting or held."""
    return page.evaluate(
        """async () => (await (await import("/static/js/outbox_store.js")).entries()).map((one) => one.state)"""
    )


def judge(bench, wire, house, code: str, typed: dict[str, str]) -> None:
    assert wire.dropped > 0, "no answer was lost, so nothing was shown"
    assert on_device_still(bench.page) == []
    assert on_record(house, code) == {specimen: [maximum] for specimen, maximum in typed.items()}


def test_every_entry_is_on_record_once_whatever_happens(bench, wire, house, study):
    spare = study(ENTRIES)
    typed = walk(bench, wire, spare.specimens, spare.code)
    judge(bench, wire, house, spare.code, typed)
    sent = len(wire.entries)
    said = f"seed {SEED}: {len(typed)} entries typed, {sent} sendings, {wire.dropped} answers lost, all on record once"
    print(said)


def test_control_a_key_made_anew_at_each_try_is_noticed(bench, wire, house, study):
    address, *texts = KEY_OF_EACH_TRY
    wire.altered[address] = tuple(texts)
    spare = study(CONTROLS)
    with pytest.raises(AssertionError, match="Held"):
        walk(bench, wire, spare.specimens, spare.code, share=0.7)


def test_control_a_queue_in_memory_only_is_noticed(bench, wire, house, study):
    address, *texts = QUEUE_IN_MEMORY
    wire.altered[address] = tuple(texts)
    spare = study(CONTROLS)
    with pytest.raises(AssertionError, match="Nothing waits on this tablet"):
        walk(bench, wire, spare.specimens, spare.code)


def test_what_is_refused_on_arrival_is_held_and_both_values_are_shown(bench, wire, house, study, enter):
    spare = study(3)
    address = open_run(bench, spare.code)
    page, (taken, other, wrong) = bench.page, spare.specimens
    wire.to.stop()
    keep(page, taken, "1.44")
    expect(chip(page)).to_contain_text("Not yet sent: 1")
    keep(page, wrong, "1.4x")
    expect(chip(page)).to_contain_text("Not yet sent: 2")
    somebody = enter("tilly")
    steps.open_run(somebody, house, spare.code)
    keep(somebody, taken, "1.51")
    expect(somebody.locator(".messages")).to_contain_text(f"Kept: 1.51 lbf/in for {taken}.")
    wire.to.start()
    page.evaluate("dispatchEvent(new Event('focus'))")
    expect(chip(page)).to_contain_text("Held: 2", timeout=60_000)
    assert on_record(house, spare.code) == {taken: ["1.51"]}

    page.get_by_role("link", name="See what waits").click()
    held = page.locator("article", has=page.get_by_role("heading", name=f"1.44 lbf/in for {taken}"))
    expect(held.locator(".refusal")).to_contain_text("already recorded")
    assert faults_of(page) == []
    held.get_by_role("link", name="See both values").click()
    expect(page.get_by_role("region", name="Kept first")).to_contain_text("1.51 lbf/in")
    expect(page.get_by_role("region", name="Kept first")).to_contain_text("Tilly")
    expect(page.get_by_role("region", name="Came second, not kept")).to_contain_text("1.44 lbf/in")
    assert faults_of(page) == []
    page.go_back()

    # it was another specimen: changed on the bench page, and sent again
    held.get_by_role("link", name="Change it on the bench page").click()
    expect(page.get_by_label("Maximum").first).to_have_value("1.44")
    page.locator("input[name=specimen]").fill(other)
    page.get_by_role("button", name="Keep this result").click()
    expect(page.locator(".messages")).to_contain_text(f"Kept: 1.44 lbf/in for {other}.")
    expect(chip(page)).to_contain_text("Held: 1")

    # a run with an entry on this device stays open
    page.get_by_role("button", name="Close the run").click()
    expect(page.get_by_text("1 of its entries are still on this device")).to_be_visible()

    # the sign-out says what is still here
    page.get_by_role("button", name="Sign out").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("1 held")
    dialog.get_by_role("button", name="Stay signed in").click()

    # the other is set aside: not without a reason, and the reason is on record
    page.goto(f"{bench.house.url}/runs/not-sent/")
    page.get_by_role("button", name="Set aside").click()
    expect(page.get_by_text("Say why")).to_be_visible()
    page.get_by_label("Why it is set aside").fill("Typed with a glove; the display was gone.")
    page.get_by_role("button", name="Set aside").click()
    expect(page.get_by_text("Nothing is held.")).to_be_visible()
    page.goto(f"{bench.house.url}/refusals/?code=set-aside")
    expect(page.get_by_text("Typed with a glove; the display was gone.")).to_be_visible()
    assert on_record(house, spare.code) == {taken: ["1.51"], other: ["1.44"]}
    assert page.goto(address).ok


def test_a_draft_comes_back_and_goes_when_it_is_kept(bench, wire, study):
    spare = study(2)
    address = open_run(bench, spare.code)
    page = bench.page
    page.get_by_label("Maximum").first.fill("1.4")
    expect(chip(page)).to_contain_text("Draft on this tablet")
    bench.kill()
    bench.start()
    page = bench.page
    page.goto(address)
    if "sign-in" in page.url:  # a browser that is killed may forget that somebody was signed in
        bench.sign_in()
        page.goto(address)
    expect(page.get_by_label("Maximum").first).to_have_value("1.4")
    expect(chip(page)).to_contain_text("Draft on this tablet")
    keep(page, spare.specimens[0], "1.47")
    expect(page.locator(".messages")).to_contain_text("Kept: 1.47")
    expect(page.get_by_label("Maximum").first).to_have_value("")


def test_sign_out_takes_the_page_off_the_device_and_nobody_else_sees_it(bench, wire, house, study):
    spare = study(1)
    address = open_run(bench, spare.code)
    page = bench.page
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(re.compile("sign-in"))
    assert page.evaluate("caches.keys()") == []
    wire.to.stop()
    with pytest.raises(Exception, match="ERR_"):
        page.goto(address)
    wire.to.start()
    sign_in(page, bench.house, "tilly")
    page.goto(address)
    on_device(page)
    names = page.evaluate("caches.keys()")
    person = page.locator('meta[name="person"]').get_attribute("content")
    assert names == [f"labrecords run {person}"]
