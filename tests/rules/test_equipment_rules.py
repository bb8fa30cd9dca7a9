"""Rules about equipment, people's disuse, arrivals, look-back and notices, at their edges."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules import ageing, notices
from labrecords.rules.authorisation import check_authorised
from labrecords.rules.calibration_record import judge
from labrecords.rules.check_before_use import MOVED, check_verified, new_signals, within_tolerance
from labrecords.rules.dates import months_after
from labrecords.rules.facts import Authorisation, Check, Treatment
from labrecords.rules.look_back import could_change, margin_percent
from labrecords.rules.result_entry import check
from labrecords.rules.run_opening import check as check_opening
from tests.rules import good

NINE = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)


def codes(answers):
    return sorted(answer.code for answer in answers)


# --- checks before use
def verified(*checks, asked="mass"):
    method = good._changed(good.METHOD, {}) if not asked else good.replace(good.METHOD, check_before_use=asked)
    made = check_verified(checks, method=method, tester=good.TESTER, cell=good.CELL, on=good.TODAY)
    return codes(made)


def test_a_check_is_asked_for_only_where_the_method_asks():
    assert verified(asked="") == []
    assert verified() == ["not-verified-today"]
    assert verified(Check("strip", NINE, accepted=True)) == ["not-verified-today"]
    assert verified(Check("mass", NINE, accepted=True)) == []


def test_the_latest_check_counts():
    bad = Check("mass", NINE + timedelta(minutes=5), accepted=False)
    well = Check("mass", NINE, accepted=True)
    assert verified(bad, well) == ["not-verified-today"]
    assert verified(bad, good.replace(well, taken_at=NINE + timedelta(minutes=9))) == []


def test_the_gate_and_the_opening_of_a_run_ask_it():
    asks = good.replace(good.METHOD, check_before_use="mass")
    assert codes(check(good.facts(method=asks))) == ["not-verified-today"]
    assert codes(check_opening(good.opening(method=asks))) == ["not-verified-today"]


@pytest.mark.parametrize(("value", "accepted"), [(9.9, True), (10.1, True), (9.899, False), (10.101, False)])
def test_a_mass_reads_what_it_weighs_within_the_tolerance(value, accepted):
    assert within_tolerance(value, nominal_n=10.0, tolerance=0.01 + 1e-12) is accepted


def test_signals_are_those_of_the_last_reading():
    limits = {"centre": 10.0, "sigma": 0.1, "range_limit": 0.37}
    assert new_signals([10.5, 10.1], **limits) == (MOVED,)
    assert new_signals([10.0], **limits) == ()
    assert "two of three successive points beyond two sigma on the same side" in new_signals([10.25, 10.22], **limits)


# --- aids, arms, receipt
SENSOR = good.replace(good.TESTER, label="RS-000001-V", name="Room sensor")


@pytest.mark.parametrize(
    "aid",
    [
        good.replace(SENSOR, status="out of service"),
        good.replace(SENSOR, calibration=None),
        good.calibrated(SENSOR, due_on=date(2026, 5, 19)),
        good.calibrated(SENSOR, passed=False),
        good.replace(SENSOR, status="repaired"),
    ],
)
def test_an_aid_out_of_order_holds_and_does_not_refuse(aid):
    assert codes(check(good.facts(aids=(aid,)))) == ["gauge-overdue"]
    assert codes(check_opening(good.opening(aids=(aid,)))) == ["gauge-overdue"]


def test_an_aid_in_order_or_that_needs_no_calibration_does_not():
    assert check(good.facts(aids=(SENSOR, good.replace(SENSOR, calibration=None, calibrated=False)))) == ()


def test_equipment_that_was_repaired_is_not_used_until_it_is_put_back():
    assert codes(check(good.facts(cell={"status": "repaired"}))) == ["out-of-service"]


def test_an_arm_that_nothing_shows_is_held():
    assert codes(check(good.facts(specimen={"as_made": False}))) == ["arm-not-shown"]
    shown = {"as_made": False, "treatments": (Treatment("aged", None, None),)}
    assert check(good.facts(specimen=shown)) == ()


@pytest.mark.parametrize(
    ("first", "last", "held"),
    [
        (date(2026, 5, 20), date(2026, 5, 20), False),
        (date(2026, 5, 21), None, True),
        (None, date(2026, 5, 19), True),
        (None, None, False),
    ],
)
def test_a_pull_window_holds_what_lies_outside(first, last, held):
    specimen = {"treatments": (Treatment("aged", first, last),)}
    assert codes(check(good.facts(specimen=specimen))) == (["outside-pull-window"] if held else [])


def test_a_discrepancy_without_an_answer_holds():
    assert codes(check(good.facts(specimen={"discrepancies": ("Two packs torn.",)}))) == ["discrepancy-open"]


# --- disuse
HELD = Authorisation("A", date(2026, 1, 1), date(2027, 12, 31))


@pytest.mark.parametrize(
    ("used", "on", "lapsed"),
    [
        (None, date(2026, 7, 1), False),
        (None, date(2026, 7, 2), True),
        (date(2026, 5, 20), date(2026, 7, 2), False),
        (date(2026, 5, 20), date(2026, 11, 20), False),
        (date(2026, 5, 20), date(2026, 11, 21), True),
    ],
)
def test_an_authorisation_lapses_with_disuse(used, on, lapsed):
    item = good.replace(HELD, last_used=used)
    said = check_authorised([item], person="Runa Vik", technique="A", on=on, disuse_months=6)
    assert bool(said) is lapsed
    if lapsed:
        assert "lapsed after 6 months" in said[0].why


def test_months_end_where_the_month_is_short():
    # as PostgreSQL adds months: select date '2026-08-31' + interval '6 months'
    assert months_after(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert months_after(date(2026, 1, 15), 12) == date(2027, 1, 15)


# --- records of calibrations
ROWS = [["1.0", "1.002"], ["2.0", "2.003"], ["4.0", "4.01"], ["7.0", "7.01"], ["10.0", "10.02"]]
JUDGED = {
    "as_found": ROWS,
    "as_left": (),
    "rule": "E4",
    "resolution_n": 0.001,
    "capacity_n": 10.0,
    "passed": True,
    "was_verified": None,
}


def test_the_points_give_the_range_and_the_error_as_found():
    made = judge(**JUDGED)
    assert made.answers == ()
    assert (made.columns["verified_low_n"], made.columns["verified_high_n"]) == (1.0, 10.0)
    assert made.columns["as_found_error_percent"] == pytest.approx(0.25)
    assert made.columns["as_found_within"] is True


def test_after_an_adjustment_the_range_is_that_as_left():
    out = [[force, str(float(reading) * 1.03)] for force, reading in ROWS]
    made = judge(**JUDGED | {"as_found": out, "as_left": ROWS, "was_verified": (2.0, 5.0)})
    assert made.columns["as_found_within"] is False
    # the largest error within the range that was verified before: 4.01 * 1.03 against 4
    assert made.columns["as_found_error_percent"] == pytest.approx(3.2575)
    assert made.columns["verified_low_n"] == 1.0


def test_what_contradicts_itself_is_refused():
    out = [[force, str(float(reading) * 1.03)] for force, reading in ROWS]
    assert codes(judge(**JUDGED | {"as_found": out}).answers) == ["points-disagree"]
    assert judge(**JUDGED | {"as_found": out, "passed": False}).answers == ()
    assert codes(judge(**JUDGED | {"capacity_n": 9.0}).answers) == ["beyond-capacity"]


def test_without_a_rule_or_points_nothing_follows():
    assert judge(**JUDGED | {"rule": ""}).columns == {}
    assert judge(**JUDGED | {"as_found": ()}).columns == {}
    only_left = judge(**JUDGED | {"as_found": (), "as_left": ROWS, "rule": "class 1"})
    assert "as_found_within" not in only_left.columns


# --- look-back
LIMITS = [("lower", Decimal("1.00")), ("upper", Decimal("2.00"))]


@pytest.mark.parametrize(
    ("strength", "error", "changes"),
    [
        ("1.02", 2.0, True),
        ("1.03", 2.0, False),
        ("0.99", -2.0, True),
        ("0.97", 2.0, False),
        ("1.97", 2.0, True),
        ("2.03", 2.0, True),
        ("2.10", 2.0, False),
        ("1.50", 0.0, False),
    ],
)
def test_a_verdict_could_change_near_a_limit(strength, error, changes):
    assert could_change(Decimal(strength), LIMITS, error_percent=error) is changes


def test_the_margin_is_to_the_nearest_limit():
    assert margin_percent(Decimal("1.90"), LIMITS) == pytest.approx(5.0)
    assert margin_percent(Decimal("0.90"), LIMITS) == pytest.approx(-10.0)
    assert margin_percent(Decimal("0.90"), []) is None


@given(st.decimals("0.5", "3", places=3), st.floats(0, 10))
def test_a_larger_error_never_clears_a_verdict(strength, error):
    if could_change(strength, LIMITS, error_percent=error):
        assert could_change(strength, LIMITS, error_percent=error * 1.5)


# --- ageing
def test_ageing_is_that_of_the_standard():
    # ASTM F1980, worked example as commonly quoted: 55 °C, 25 °C ambient and Q10 2 give 8, and 46 days for a year
    assert ageing.factor(ageing_c=55, ambient_c=25, q10=2) == pytest.approx(8)
    assert ageing.days_needed(simulated_days=365, ageing_c=55, ambient_c=25, q10=2) == 46


def test_ageing_that_adds_up_is_not():
    assert ageing.check_ageing(ageing_c=55.0, ambient_c=23.0, q10=2.0) == []


@pytest.mark.parametrize(
    "told",
    [
        {"ageing_c": None, "ambient_c": 23.0, "q10": 2.0},
        {"ageing_c": 20.0, "ambient_c": 23.0, "q10": 2.0},
        {"ageing_c": 55.0, "ambient_c": 23.0, "q10": 1.0},
    ],
)
def test_ageing_that_does_not_add_up_is_refused(told):
    assert codes(ageing.check_ageing(**told)) == ["ageing-incomplete"]


# --- notices
def test_every_notice_is_told_once_whatever_day_it_falls_on():
    due = date(2026, 12, 31)
    days = [date(2026, 10, 1) + timedelta(days=step) for step in range(92)]
    told = [day for day in days if notices.is_told(due, on=day)]
    assert all(notices.is_working(day) for day in told)
    # 60, 30, 14, 7, 1 and 0 days before: 1 Nov is a Sunday, told on Monday
    assert told == [date(2026, 11, 2), *(date(2026, 12, day) for day in (1, 17, 24, 30, 31))]


def test_what_is_overdue_is_told_each_working_day():
    assert notices.is_told(date(2026, 11, 20), on=date(2026, 11, 24))
    assert not notices.is_told(date(2026, 11, 20), on=date(2026, 11, 28))  # a Saturday
    assert notices.says_all_in_date(date(2026, 11, 30))
    assert not notices.says_all_in_date(date(2026, 12, 1))
