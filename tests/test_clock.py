"""The clock of the pages is the real one unless a test sets its own."""

from django.utils import timezone

from labrecords import web
from tests import world
from tests.clock import stopped


def test_no_file_that_was_read_with_the_tests_has_set_it_for_all():
    assert web.CLOCK is timezone.now


def test_a_test_sets_it_for_every_page_and_gives_it_back(monkeypatch):
    with monkeypatch.context() as patched:
        clock = stopped(patched, world.NOW)
        clock.forward(hours=1)
        assert (web.now() - world.NOW).total_seconds() == 3600
    assert web.CLOCK is timezone.now
