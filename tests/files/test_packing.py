"""Packed samples: every bit comes back, and damage is noticed."""

import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from labrecords.files.packing import DamagedPack, pack, unpack

X = np.linspace(0, 20, 500)
F = np.sin(X) * 5
T = X / 5

doubles = st.floats(width=64, allow_nan=True, allow_infinity=True)


@settings(deadline=None)
@given(arrays.arrays(np.float64, st.tuples(st.just(3), st.integers(0, 200)), elements=doubles), st.booleans())
def test_every_bit_comes_back(columns, with_time):
    x, f, t = columns
    back = unpack(pack(x, f, t if with_time else None))
    assert (back[2] is not None) is with_time
    for put_in, out in zip([x, f, t] if with_time else [x, f], back, strict=False):
        assert put_in.tobytes() == out.tobytes()


def test_a_trace_packs_smaller_than_its_numbers():
    assert len(pack(np.round(X, 2), np.round(F, 3), np.round(T, 3))) < 3 * 8 * X.size


def test_what_came_from_the_database_as_a_view_is_read():
    np.testing.assert_array_equal(unpack(memoryview(pack(X, F)))[1], F)


def test_unequal_columns_are_refused():
    with pytest.raises(ValueError, match="equally long"):
        pack(X, F[:-1])
    with pytest.raises(ValueError, match="one-dimensional"):
        pack(X.reshape(2, -1), F.reshape(2, -1))


GOOD = pack(X, F, T)


@settings(deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.integers(1, 255))
def test_any_changed_byte_is_noticed(place, change):
    damaged = bytearray(GOOD)
    damaged[place] ^= change
    with pytest.raises(DamagedPack):
        unpack(bytes(damaged))


@pytest.mark.parametrize("length", [0, 3, 10, 18, len(GOOD) - 1])
def test_a_pack_cut_short_is_noticed(length):
    with pytest.raises(DamagedPack):
        unpack(GOOD[:length])


def test_bytes_after_the_end_are_noticed():
    with pytest.raises(DamagedPack, match="length"):
        unpack(GOOD + b"x")


def test_a_size_that_cannot_be_takes_no_memory():
    with pytest.raises(DamagedPack, match="more than it can"):
        unpack(GOOD[:6] + struct.pack("<Q", 2**60) + GOOD[14:])


def test_a_checksum_that_differs_is_noticed():
    with pytest.raises(DamagedPack, match="checksum"):
        unpack(GOOD[:14] + b"\x00\x00\x00\x00" + GOOD[18:])


def test_another_version_is_named():
    with pytest.raises(DamagedPack, match="version 9"):
        unpack(GOOD[:4] + b"\x09" + GOOD[5:])
