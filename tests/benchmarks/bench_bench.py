"""Keys and seconds from the scan to the acknowledgement, for twenty results typed at the bench by a robot.

    .venv/bin/pytest -s tests/benchmarks/bench_bench.py

The seconds are those of page, server and browser alone: a robot neither reads nor reaches. Nothing is asserted of time.
"""

import statistics
import time

import pytest
from playwright.sync_api import expect, sync_playwright

from tests.browser import steps
from tests.browser.house import CHROMIUM, FLAGS, running, sign_in

RESULTS = 20
MOST_KEYS = 8


@pytest.fixture
def bench():
    """A run of a study of twenty strips, open in a browser."""
    with running() as house, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        engineer = browser.new_context().new_page()
        sign_in(engineer, house, "edmund")
        code = steps.plan(engineer, house, title="Twenty strips", packs=RESULTS)
        page = browser.new_context().new_page()
        sign_in(page, house, "tilly")
        spare = steps.receive(page, house, code)
        steps.open_run(page, house, code)
        yield page, spare.specimens
        browser.close()


def kept(page, label: str, value: str) -> tuple[int, float]:
    """Scan, type, choose, and see it kept: the keys a person would press, and the seconds."""
    keys = [*value, "Enter", "1"]
    begun = time.perf_counter()
    page.keyboard.press("F8")
    page.keyboard.type(label.replace("-", ""))
    page.keyboard.press("Enter")
    page.wait_for_function("label => document.querySelector('[name=specimen]').value === label", arg=label)
    expect(page.locator("input[name=typed]")).to_be_focused()
    for key in keys:
        page.keyboard.press(key)
    expect(page.locator(".messages")).to_contain_text(f"for {label}.")
    expect(page.locator("input[name=typed]")).to_be_focused()
    return len(keys), time.perf_counter() - begun


def bench_twenty_typed_results(bench):
    page, labels = bench
    # from the last to the first, so that every scan leads elsewhere
    found = [kept(page, label, f"1.{40 + number}") for number, label in enumerate(reversed(labels))]
    keys, seconds = zip(*found, strict=True)
    nine_tenths = statistics.quantiles(seconds, n=10, method="inclusive")[-1]
    print(
        f"\n{len(found)} results, each 1 scan and {min(keys)} to {max(keys)} keys; "
        f"seconds a specimen: median {statistics.median(seconds):.2f}, 90th percentile {nine_tenths:.2f}"
    )
    assert len(found) == RESULTS
    assert max(keys) <= MOST_KEYS
