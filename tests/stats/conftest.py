"""Settings of the property tests."""

from hypothesis import settings

# A busy machine must not fail a test: nothing here is about time.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
