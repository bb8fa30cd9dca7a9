"""Keys of records: of version 7, and in the order in which the records were made."""

import time
import uuid

import pytest

from labrecords.models import new_id

MOMENT = 1_645_557_742_000  # milliseconds; RFC 9562, appendix A.6


def made(monkeypatch, nanoseconds):
    monkeypatch.setattr(time, "time_ns", lambda: nanoseconds)
    return new_id()


def test_the_form_is_that_of_the_standard(monkeypatch):
    key = made(monkeypatch, MOMENT * 1_000_000)
    assert str(key).startswith("017f22e2-79b0-7")  # RFC 9562, appendix A.6
    assert (key.version, key.variant) == (7, uuid.RFC_4122)


@pytest.mark.parametrize("later", [250, 1_000, 999_999, 1_000_000])
def test_a_key_made_later_sorts_later(monkeypatch, later):
    start = MOMENT * 1_000_000
    assert made(monkeypatch, start) < made(monkeypatch, start + later)


def test_keys_of_one_moment_differ(monkeypatch):
    assert len({made(monkeypatch, MOMENT * 1_000_000) for _ in range(100)}) == 100
