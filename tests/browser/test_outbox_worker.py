"""A worker whose script cannot be fetched keeps no page on the device; entries are kept all the same."""

import pytest
from playwright.sync_api import expect

from tests.browser import steps
from tests.browser.house import watch
from tests.browser.test_outbox import bench, keep, study, wire

__all__ = ["bench", "study", "wire"]
pytestmark = pytest.mark.browser

AT_WORK = "navigator.serviceWorker.getRegistrations().then((all) => all.map((one) => one.active).filter(Boolean))"
UNCAUGHT = ("/static/js/outbox_page.js", "register(WORKER).catch(() => null)", "register(WORKER)")


def errors_of_scripts(bench, wire, spare) -> list[str]:
    """What scripts complain of on a run's page whose worker is not to be had, and on which a result is kept."""
    wire.dead.add("/runs/worker.js")
    bench.sign_in()
    complaints = watch(bench.page)
    steps.open_run(bench.page, bench.house, spare.code)
    keep(bench.page, spare.specimens[0], "1.44")
    expect(bench.page.locator(".messages")).to_contain_text("Kept: 1.44")
    assert bench.page.evaluate(AT_WORK) == []
    return [complaint for complaint in complaints if complaint.startswith("script: ")]


def test_nobody_is_told_of_an_error_and_the_entry_is_kept(bench, wire, study):
    assert errors_of_scripts(bench, wire, study(1)) == []


def test_control_a_failure_that_nobody_catches_is_noticed(bench, wire, study):
    address, *texts = UNCAUGHT
    wire.altered[address] = tuple(texts)
    assert errors_of_scripts(bench, wire, study(1)) != []
