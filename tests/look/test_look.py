"""Numbers, times and tables as a page writes them."""

import datetime
import json
from decimal import Decimal

import pytest

from labrecords.templatetags import look

UTC = datetime.UTC


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (Decimal("9.30"), None, "9.30"),  # a recorded zero is kept
        (Decimal("-9.30"), None, "\u22129.30"),
        (Decimal("0.125"), 2, "0.12"),  # ties go to the even digit
        (Decimal("0.135"), 2, "0.14"),
        (2.675, 2, "2.68"),  # a float is taken as it is written: a tie, to the even digit
        (Decimal("-0.001"), 2, "0.00"),  # never a minus before nothing
        (9999, 0, "9999"),
        (12345, 0, "12\u202f345"),
        (-1234567.5, 1, "\u22121\u202f234\u202f567.5"),
        (Decimal("1E+3"), None, "1000"),  # never an exponent
        (1e-7, None, "0.0000001"),
        (None, 2, "no value"),
        (float("nan"), 2, "no value"),
        (float("inf"), None, "no value"),
    ],
)
def test_number(value, decimals, text):
    assert look.number(value, decimals) == text


def test_quantity_is_one_line_and_escapes_its_unit():
    assert look.quantity(Decimal("9.31"), "N/15 mm") == ('<span class="quantity">9.31\u202fN/15\u202fmm</span>')
    assert "<b>" not in look.quantity(1, "<b>")
    assert look.quantity(None, "N") == "no value"


def test_instant_is_shown_in_the_laboratorys_zone(settings):
    settings.LAB_TIME_ZONE = "America/New_York"
    instant = datetime.datetime(2026, 11, 25, 4, 19, 26, tzinfo=UTC)
    assert look.lab_time(instant) == '<time datetime="2026-11-25T04:19:26Z">24 Nov 2026, 23:19</time>'
    assert look.lab_date(instant) == '<time datetime="2026-11-24">24 Nov 2026</time>'


# In 2026 clocks in the European Union go back at 01:00 UTC on 25 October (Directive 2000/84/EC: last Sunday).
@pytest.mark.parametrize(
    ("hour", "text"),
    [
        (0, "25 Oct 2026, 01:30 (UTC+1)"),
        (1, "25 Oct 2026, 01:30 (UTC+0)"),
        (2, "25 Oct 2026, 02:30"),
    ],
)
def test_hour_that_occurs_twice_carries_its_offset(settings, hour, text):
    settings.LAB_TIME_ZONE = "Europe/Dublin"
    assert f">{text}<" in look.lab_time(datetime.datetime(2026, 10, 25, hour, 30, tzinfo=UTC))


def test_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="names no instant"):
        look.lab_time(datetime.datetime(2026, 11, 25, 7, 19))  # noqa: DTZ001 -- that is the point


def test_calendar_date_stays_as_it_is():
    assert look.lab_date(datetime.date(2026, 12, 2)) == '<time datetime="2026-12-02">2 Dec 2026</time>'
    assert look.lab_date(None) == look.lab_time(None) == "no value"


def test_code_is_escaped():
    assert look.code("<i>") == '<span class="code">&lt;i&gt;</span>'


def test_states_have_five_kinds_and_no_guess():
    assert {look.state_of(word) for word in ("Overdue", "Due soon", "Waiting for review", "In date", "Draft")} == {
        "stop",
        "due",
        "wait",
        "ok",
        "idle",
    }
    with pytest.raises(ValueError, match="five states"):
        look.state_of("Splendid")


@pytest.mark.parametrize("given", [{"a": "</script><!-- &"}, json.dumps({"a": "</script><!-- &"})])
def test_script_block_cannot_be_left(given):
    written = look.script_json(given)
    assert not set("<>&") & set(written)
    assert json.loads(written) == {"a": "</script><!-- &"}


def test_columns_of_numbers_are_found():
    rows = [["SP-1", "9.31", Decimal("1")], ["SP-2", "\u22120.02", Decimal("2")]]
    drawn = look.grid({"columns": ["Code", "Force", "Order"], "rows": rows, "row_ids": ["a", "b"]})
    assert [column["number"] for column in drawn["columns"]] == [False, True, True]
    assert [row["id"] for row in drawn["rows"]] == ["a", "b"]
    assert drawn["rows"][1]["cells"][1] == {"value": "\u22120.02", "number": True}


def test_column_may_say_itself_whether_it_holds_numbers():
    column = {"label": "Lot", "number": False}
    assert look.grid({"columns": [column], "rows": [["17"]]})["columns"] == [column]


def test_ragged_table_is_refused():
    with pytest.raises((ValueError, IndexError)):
        look.grid({"columns": ["a", "b"], "rows": [["1"]]})
