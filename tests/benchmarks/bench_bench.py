"""The bench under a robot's hands: keys and seconds from the scan to the acknowledgement, and what the server takes.

    .venv/bin/pytest -s tests/benchmarks/bench_bench.py

Twenty results typed, twenty from traces. The seconds are those of page, server and browser alone: a robot neither reads
nor reaches. The server's acknowledgement is told as a ratio to a page on which there is nothing but words. Nothing is
asserted of time.
"""

import statistics
import time
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Page, expect, sync_playwright

from labrecords.management.demo.peel import as_text, peel_trace
from tests.browser import steps
from tests.browser.house import CHROMIUM, FLAGS, House, running, sign_in

RESULTS = 20
MOST_KEYS = 8


@dataclass
class Bench:
    """A run of a study of twenty strips, open in a browser, and the milliseconds of each acknowledgement."""

    house: House
    page: Page
    labels: list[str]
    acknowledged: list[float] = field(default_factory=list)

    def __post_init__(self):
        self.page.on("requestfinished", self._noted)

    def _noted(self, request) -> None:
        if request.method == "POST" and "/runs/" in request.url:
            self.acknowledged.append(milliseconds(request))


def milliseconds(request) -> float:
    """From the first byte asked to the last byte answered."""
    return request.timing["responseEnd"] - request.timing["requestStart"]


@pytest.fixture
def bench():
    with running() as house, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        engineer = browser.new_context().new_page()
        sign_in(engineer, house, "edmund")
        code = steps.plan(engineer, house, title="Twenty strips", packs=RESULTS)
        page = browser.new_context().new_page()
        sign_in(page, house, "tilly")
        spare = steps.receive(page, house, code)
        steps.open_run(page, house, code)
        expect(page.locator("input[name=typed]")).to_be_focused()
        yield Bench(house, page, spare.specimens)
        browser.close()


def kept(page: Page, label: str, keys: list[str], focus: str) -> tuple[int, float]:
    """Scan, then the keys a person would press, and see it kept: how many keys, and the seconds."""
    begun = time.perf_counter()
    page.keyboard.press("F8")
    page.keyboard.type(label.replace("-", ""))
    page.keyboard.press("Enter")
    page.wait_for_function("label => document.querySelector('[name=specimen]').value === label", arg=label)
    expect(page.locator(focus)).to_be_focused()
    for key in keys:
        page.keyboard.press(key)
    expect(page.locator(".messages")).to_contain_text(f"for {label}.")
    return len(keys), time.perf_counter() - begun


def told(what: str, found: list[tuple[int, float]], bench: Bench) -> None:
    keys, seconds = zip(*found, strict=True)
    print(
        f"\n{len(found)} results {what}, each 1 scan and {min(keys)} to {max(keys)} keys; seconds a specimen: median "
        f"{statistics.median(seconds):.2f}, 90th percentile {percentile(seconds, 90):.2f}"
    )
    empty = [emptied(bench) for _ in range(2 * RESULTS)]
    acknowledged = percentile(bench.acknowledged, 95)
    print(
        f"acknowledged by the server at the 95th percentile in {acknowledged / percentile(empty, 95):.1f} times what a "
        f"page of words takes there ({acknowledged:.0f} ms in this run)"
    )
    assert len(bench.acknowledged) >= RESULTS
    assert max(keys) <= MOST_KEYS


def emptied(bench: Bench) -> float:
    """Milliseconds of a page of words for the same person."""
    with bench.page.expect_request_finished(lambda request: request.url.endswith("/help/")) as asked:
        bench.page.evaluate("fetch('/help/').then(answer => answer.text())")
    return milliseconds(asked.value)


def percentile(values, share: int) -> float:
    return statistics.quantiles(values, n=100, method="inclusive")[share - 1]


def bench_twenty_typed_results(bench):
    # from the last to the first, so that every scan leads elsewhere
    strips = enumerate(reversed(bench.labels))
    found = [
        kept(bench.page, label, [*f"1.{40 + number}", "Enter", "1"], "input[name=typed]") for number, label in strips
    ]
    told("typed", found, bench)


def trace_file(label: str, seed: int) -> dict:
    """What a tester writes of one pull of one strip."""
    shape = {"mean_force_n": 6.5, "peel_travel_mm": 10.0, "cell_capacity_n": 44.5, "sampling_hz": 50.0}
    pulled = peel_trace(seed=seed, rate_mm_min=11 * 25.4, **shape)
    text = as_text([pulled], codes=[label], rate="11 in/min", technique="A", width="25.4 mm", layout="comma")
    return {"name": f"{label}.csv", "mimeType": "text/csv", "buffer": text.encode()}


def bench_twenty_results_from_traces(bench):
    page, run = bench.page, bench.page.url
    files = [trace_file(label, seed) for seed, label in enumerate(bench.labels)]
    page.locator("input[name=files]").set_input_files(files)
    page.get_by_role("button", name="Take the files").click()
    expect(page.get_by_text(f"{RESULTS} files are kept.")).to_be_visible()
    page.goto(run)
    expect(page.locator("[data-modes]")).to_be_focused()
    bench.acknowledged.clear()
    found = [kept(page, label, ["1"], "[data-modes]") for label in reversed(bench.labels)]
    told("from traces", found, bench)
