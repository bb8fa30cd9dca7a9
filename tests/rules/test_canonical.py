"""Content as bytes: one text for one content, whatever order and way of writing it came in."""

import json
import unicodedata
import uuid
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from enum import IntEnum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.answers import Kind
from labrecords.rules.canonical import canonical, instant, sha256


class Revision(IntEnum):
    FIRST = 1


class Measurement(float):
    """A number of a library's own kind, which writes itself apart."""

    def __repr__(self):
        return f"Measurement({float(self)!r})"


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (None, "null"),
        (True, "true"),
        (False, "false"),
        ("", '""'),
        ("5 µm “x”", '"5 µm “x”"'),
        ('a"b\\c\n', '"a\\"b\\\\c\\n"'),
        (Decimal("9.30"), '"9.30"'),
        (Decimal("9.3"), '"9.3"'),
        (Decimal("0.000000001"), '"0.000000001"'),
        (Decimal("1E+3"), '"1000"'),
        (Decimal("-0"), '"-0"'),
        (Decimal("-0.00"), '"-0.00"'),
        (Decimal("0.00"), '"0.00"'),
        (0, '"0"'),
        (-7, '"-7"'),
        (9007199254740993, '"9007199254740993"'),
        (0.1, '"0.1"'),
        (-0.0, '"-0.0"'),
        (1e22, '"1e+22"'),
        (Measurement(0.1), '"0.1"'),
        (Revision.FIRST, '"1"'),
        (Kind.MARK, '"mark"'),
        (date(2026, 5, 20), '"2026-05-20"'),
        (datetime(2026, 5, 20, 9, tzinfo=UTC), '"2026-05-20T09:00:00.000000Z"'),
        (uuid.UUID("6BA7B810-9DAD-11D1-80B4-00C04FD430C8"), '"6ba7b810-9dad-11d1-80b4-00c04fd430c8"'),
        ([], "[]"),
        ({}, "{}"),
        ((1, [None]), '["1",[null]]'),
        ({"b": [Decimal("1.0")], "a": {"d": None, "c": True}}, '{"a":{"c":true,"d":null},"b":["1.0"]}'),
        ({2: "two", 10: "ten"}, '{"10":"ten","2":"two"}'),
    ],
)
def test_each_kind_of_content(content, text):
    assert canonical(content) == text


def test_a_sign_and_trailing_noughts_are_part_of_what_was_recorded():
    written = {canonical(Decimal(text)) for text in ("0", "-0", "0.0", "-0.0", "0.00")}
    assert len(written) == 5


plain = st.recursive(
    st.none() | st.booleans() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=15,
)
mappings = st.dictionaries(
    st.text().map(lambda text: unicodedata.normalize("NFC", text)), plain, min_size=2, max_size=6
)


@given(mappings, st.randoms())
def test_the_order_of_keys_is_irrelevant(content, random):
    names = list(content)
    random.shuffle(names)
    assert canonical({name: content[name] for name in names}) == canonical(content)


def test_the_order_of_a_list_is_not():
    assert canonical([1, 2]) != canonical([2, 1])


# The worked examples of Unicode Standard Annex 15, figure 3 and table 1: Angstrom sign, A with ring, s with two dots.
# from memory
@pytest.mark.parametrize(
    ("written", "composed"),
    [
        ("\u212b", "\u00c5"),
        ("A\u030a", "\u00c5"),
        ("\u1e9b\u0323", "\u1e9b\u0323"),
        ("s\u0307\u0323", "\u1e69"),
        ("s\u0323\u0307", "\u1e69"),
    ],
)
def test_text_is_composed(written, composed):
    assert canonical(written) == f'"{composed}"'
    assert canonical({written: [written]}) == f'{{"{composed}":["{composed}"]}}'


@pytest.mark.parametrize("names", [("\u00c5", "A\u030a"), (1, "1")])
def test_two_names_that_become_one_are_refused(names):
    with pytest.raises(ValueError, match="two alike among"):
        canonical(dict.fromkeys(names))
    assert canonical(dict.fromkeys(names[:1]))


@given(plain.filter(lambda content: canonical_or_none(content) is not None))
def test_it_is_json_and_already_canonical(content):
    text = canonical(content)
    assert canonical(json.loads(text)) == text


def canonical_or_none(content):
    try:
        return canonical(content)
    except ValueError:
        return None


@pytest.mark.parametrize("content", [object(), {1, 2}, b"bytes", [b"bytes"], {"a": object()}])
def test_what_has_no_text_is_refused(content):
    with pytest.raises(TypeError, match="content must be text, numbers, dates, lists or dicts, came as "):
        canonical(content)


# RFC 3339, section 5.8: examples of one instant written in two zones. from memory
@pytest.mark.parametrize(
    ("moment", "text"),
    [
        (
            datetime(1996, 12, 19, 16, 39, 57, tzinfo=timezone(-timedelta(hours=8))),
            "1996-12-20T00:39:57.000000Z",
        ),
        (
            datetime(1937, 1, 1, 12, 0, 27, 870_000, tzinfo=timezone(timedelta(minutes=20))),
            "1937-01-01T11:40:27.870000Z",
        ),
    ],
)
def test_moments_are_utc(moment, text):
    assert instant(moment) == text
    assert canonical([moment]) == f'["{text}"]'


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="moment must carry a time zone"):
        canonical({"at": datetime(2026, 5, 20, 9)})  # noqa: DTZ001 - this is what is refused


@pytest.mark.parametrize(
    ("text", "digest"),
    [
        # The first two examples that NIST publishes beside FIPS 180-4. from memory
        ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ],
)
def test_published_digests(text, digest):
    assert sha256(text) == digest
