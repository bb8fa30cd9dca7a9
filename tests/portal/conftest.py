"""Two released reports, and readers who have signed in."""

import pytest
from django.test import Client

from tests.portal import cast as companies


@pytest.fixture(autouse=True)
def _addresses(settings):
    settings.ROOT_URLCONF = "tests.portal.urls"
    settings.WHITENOISE_AUTOREFRESH = True  # nothing has been collected, and nothing need be


@pytest.fixture
def cast(db):
    return companies.build()


@pytest.fixture
def reader(cast):
    """A browser of somebody who has signed in, or of nobody."""

    def reader(name):
        browser = Client()
        if name != "anonymous":
            browser.force_login(cast.world.people[name])
        return browser

    return reader
