"""Settings of the property tests, and statistics that remember nothing of other tests."""

import os
import sys

import pytest
from hypothesis import settings

# A busy machine must not fail a test: nothing here is about time. Where a change is judged, the same examples are
# tried each time; at a desk, new ones.
settings.register_profile("unhurried", deadline=None, max_examples=60, derandomize="CI" in os.environ)
settings.load_profile("unhurried")


@pytest.fixture(scope="module", autouse=True)
def _nothing_remembered():
    """What a test of something else made a function remember would not be run, nor measured, here."""
    for name, module in list(sys.modules.items()):
        if name.startswith("labrecords.stats"):
            for found in vars(module).values():
                getattr(found, "cache_clear", lambda: None)()
