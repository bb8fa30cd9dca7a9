"""Settings of the property tests."""

import os

from hypothesis import settings

# A busy machine must not fail a test: nothing here is about time. Where a change is judged, the same examples are
# tried each time; at a desk, new ones.
settings.register_profile("unhurried", deadline=None, max_examples=60, derandomize="CI" in os.environ)
settings.load_profile("unhurried")
