"""One demo and one browser a worker, gone before its next tests: a running browser keeps Django from the database.

Without a browser the walks are skipped, but never where CI runs.
"""

import os
import pathlib

import pytest
from django.conf import settings
from playwright.sync_api import expect, sync_playwright

from tests.browser import steps
from tests.browser.house import CHROMIUM, FLAGS, running, sign_in, watch
from tests.browser.looks import WIDE

expect.set_options(timeout=15_000)  # a machine with much else to do is no fault of a page


@pytest.fixture(scope="package")
def browser_found():
    if pathlib.Path(CHROMIUM).exists():
        return
    if os.environ.get("CI"):
        pytest.fail(
            "There is no Chromium here, and the walks must run in CI: install Debian's chromium-headless-shell."
        )
    pytest.skip("There is no Chromium here. Install Debian's chromium-headless-shell, or set CHROMIUM to where it is.")


@pytest.fixture(scope="package")
def house(browser_found):
    with running(copy_of=settings.HOME / "demo-to-copy") as house:
        yield house


@pytest.fixture(scope="package")
def chromium(browser_found):
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def signed_in(house, chromium):
    """Signs each person in once, through the page, and keeps the cookies for their later walks."""
    kept = {}

    def state(who):
        if who not in kept:
            context = chromium.new_context()
            sign_in(context.new_page(), house, who)
            kept[who] = context.storage_state()
            context.close()
        return kept[who]

    return state


@pytest.fixture(scope="package")
def visit(chromium, signed_in):
    """A page of somebody who has signed in (nobody: None), and the list of what is complained of on it."""

    def as_person(who, **options):
        state = {"storage_state": signed_in(who)} if who else {}
        page = chromium.new_context(**{"viewport": WIDE, "reduced_motion": "reduce", **state, **options}).new_page()
        return page, watch(page)

    return as_person


@pytest.fixture
def enter(visit):
    """A page of somebody who has signed in; what the console or the policy complains of fails the test."""
    opened = []

    def as_person(who, **options):
        opened.append(visit(who, **options))
        return opened[-1][0]

    yield as_person
    for page, _ in opened:
        page.context.close()
    assert [complaint for _, complaints in opened for complaint in complaints] == []


@pytest.fixture(scope="package")
def spare(house, visit):
    """A study in testing, made through the pages: with a run, a file waiting for its match, and a held result."""
    return steps.spare(house, visit)
