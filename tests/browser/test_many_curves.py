"""A file of many curves: kept a few at a time, with how far it is; an answer that is lost keeps nothing twice."""

import re

import pytest
from playwright.sync_api import expect

from labrecords.management.demo import peel
from tests.browser import steps
from tests.browser.looks import faults_of
from tests.browser.test_outbox import bench, on_record, study, wire

__all__ = ["bench", "study", "wire"]
pytestmark = pytest.mark.browser

CURVES = 20
AP = "AP: adhesive peel"


def file_of(specimens) -> dict:
    pulls = [
        peel.peel_trace(
            seed=seed, mean_force_n=6.5, peel_travel_mm=11.5, cell_capacity_n=44, rate_mm_min=279.4, sampling_hz=25
        )
        for seed, _ in enumerate(specimens)
    ]
    text = peel.as_text(pulls, codes=specimens, rate="11 in/min", technique="A", width="25.4 mm")
    return {"name": "all.csv", "mimeType": "text/csv", "buffer": text.encode()}


def match(bench, spare) -> None:
    """The page of a file with the trace of every specimen, each with how it came apart."""
    bench.sign_in()
    steps.open_run(bench.page, bench.house, spare.code)
    bench.page.locator("input[name=files]").set_input_files(file_of(spare.specimens))
    bench.page.get_by_role("button", name="Take the files").click()
    expect(bench.page.get_by_role("heading", name="Whose curve is whose")).to_be_visible()
    boxes = bench.page.get_by_label(AP).all()
    assert len(boxes) == CURVES
    for box in boxes:
        box.check()


def test_they_are_kept_once_with_progress_though_answers_are_lost(bench, wire, house, study):
    spare = study(CURVES)
    match(bench, spare)
    page, seen = bench.page, []
    page.expose_function("seen", lambda words: seen.append(words))
    page.evaluate("""new MutationObserver(() => seen(document.querySelector("[data-far-said]").textContent))
      .observe(document.querySelector("[data-far]"), { childList: true, subtree: true })""")
    wire.share = 0.4
    page.get_by_role("button", name="Keep the ticked curves").click()
    expect(page.locator(".messages")).to_contain_text(f"{CURVES} curves are kept.", timeout=90_000)
    wire.share = 0.0
    assert wire.dropped > 0, "no answer was lost, so nothing was shown"
    assert any(re.search(rf"Kept [1-9]\d* of {CURVES} curves", words) for words in seen), seen
    found = on_record(house, spare.code)
    assert sorted(found) == sorted(spare.specimens)
    assert {len(values) for values in found.values()} == {1}
    expect(page.get_by_text("Kept with")).to_have_count(CURVES)


def test_one_that_is_refused_comes_back_with_its_reasons(bench, wire, house, study):
    spare = study(CURVES)
    match(bench, spare)
    page = bench.page
    page.locator("input[name=curves-3-specimen]").fill("SP-999999-X")
    page.get_by_role("button", name="Keep the ticked curves").click()
    outcomes = page.get_by_role("region", name="What became of the curves")
    expect(outcomes.locator(".refusal")).to_have_count(1, timeout=60_000)
    expect(outcomes).to_contain_text("SP-999999-X")
    expect(page.locator("input[name=curves-3-keep]")).to_be_checked()
    expect(page.locator("input[name=curves-4-keep]")).not_to_be_checked()
    assert len(on_record(house, spare.code)) == CURVES - 1
    assert faults_of(page) == []
