"""One demo and one browser for all walks, gone before the next tests: a running browser keeps Django from the database.

Without a browser the walks are skipped, but never where CI runs.
"""

import os
import pathlib

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.house import CHROMIUM, FLAGS, running, sign_in, watch

HERE = pathlib.Path(__file__).parent


def pytest_collection_modifyitems(items):
    """All walks go to one worker, so that one demo serves them."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.xdist_group("browser"))


WIDE = {"width": 1280, "height": 900}


@pytest.fixture(scope="package")
def browser_found():
    if pathlib.Path(CHROMIUM).exists():
        return
    if os.environ.get("CI"):
        pytest.fail("There is no Chromium here, and the walks must run in CI: install Debian's chromium.")
    pytest.skip("There is no Chromium here. Install Debian's chromium, or set CHROMIUM to where it is.")


@pytest.fixture(scope="package")
def house(browser_found):
    with running() as house:
        yield house


@pytest.fixture(scope="package")
def chromium(browser_found):
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def enter(house, chromium):
    """A page of somebody who has signed in; what the console or the policy complains of fails the test."""
    opened = []

    def as_person(who, **options):
        context = chromium.new_context(**({"viewport": WIDE} | options))
        page = context.new_page()
        complaints = watch(page)
        if who is not None:
            sign_in(page, house, who)
        opened.append((context, complaints))
        return page

    yield as_person
    for context, complaints in opened:
        context.close()
        assert complaints == []
