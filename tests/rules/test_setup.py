"""What may be locked: inside the method version, with a plan, and limits that can be met."""

from dataclasses import replace
from decimal import Decimal

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.setup import Limit, check_lock

from .good import METHOD, SETUP, rate


def locking(*, groups=1, limits=(), reason="", method=METHOD, **changed):
    return check_lock(
        setup=replace(SETUP, **changed),
        method=method,
        groups=groups,
        limits=limits,
        no_conditioning_reason=reason,
    )


def test_a_good_set_up_may_be_locked():
    assert locking() == ()


# A method of 200 to 300 mm/min or 8 to 12 in/min: the two systems are separate in the method standard. from memory
INSIDE = ["200 mm/min", "203.2 mm/min", "250 mm/min", "300 mm/min", "8 in/min", "10.5 in/min", "12 in/min"]
OUTSIDE = [
    "304.8 mm/min",
    "300.001 mm/min",
    "199.999 mm/min",
    "12.001 in/min",
    "7.999 in/min",
    "7.875 in/min",
    "10 mm/min",
    "250 in/min",
]


@pytest.mark.parametrize(
    ("stated", "expected"), [(one, ()) for one in INSIDE] + [(one, ("rate-outside-method",)) for one in OUTSIDE]
)
def test_a_rate_is_judged_in_its_own_system(stated, expected):
    assert codes(locking(rate=rate(stated))) == expected


def test_the_same_rate_is_allowed_in_one_system_and_not_in_the_other():
    assert locking(rate=rate("12 in/min")) == ()
    [answer] = locking(rate=rate("304.8 mm/min"))
    assert answer.why == "304.8 mm/min is outside P-3 version 1: 200 to 300 mm/min."


@pytest.mark.parametrize(
    ("technique", "expected"),
    [("A", ()), ("B", ()), ("C", ("technique-outside-method",)), ("", ("technique-outside-method",))],
)
def test_technique(technique, expected):
    assert codes(locking(technique=technique)) == expected


@pytest.mark.parametrize(
    ("width", "expected"),
    [("15", ()), ("25.4", ()), ("25.40", ()), ("25", ("width-outside-method",)), ("25.41", ("width-outside-method",))],
)
def test_width(width, expected):
    assert codes(locking(width_mm=Decimal(width))) == expected


@pytest.mark.parametrize(
    ("hours", "reason", "expected"),
    [
        (40.0, "", ()),
        (48.0, "", ()),
        (39.9, "", ("conditioning-unexplained",)),
        (0.0, "", ("conditioning-unexplained",)),
        (0.0, "  ", ("conditioning-unexplained",)),
        (0.0, "The webs take up no water.", ()),
    ],
)
def test_conditioning(hours, reason, expected):
    assert codes(locking(conditioning_hours=hours, reason=reason)) == expected


def test_a_plan_has_a_group():
    assert codes(locking(groups=0)) == ("plan-empty",)


def at_least(value, unit="lbf/in", kind="requirement"):
    return Limit(kind, "lower", Decimal(value), unit)


def at_most(value, unit="lbf/in", kind="requirement"):
    return Limit(kind, "upper", Decimal(value), unit)


@pytest.mark.parametrize(
    ("limits", "expected"),
    [
        ([at_least("1.0")], ()),
        ([at_most("1.0")], ()),
        ([at_least("1.0"), at_most("3.0")], ()),
        ([at_most("3.0"), at_least("1.0")], ()),
        ([at_least("1.0"), at_most("1.00")], ()),
        ([at_least("1.000001"), at_most("1.0")], ("limits-crossed",)),
        ([at_most("1.0"), at_least("3.0")], ("limits-crossed",)),
        ([at_least("3.0"), at_most("1.0", kind="process")], ()),
        ([at_least("1.0"), at_most("2.0", "N/15mm")], ("limits-crossed",)),  # 1 lbf/in is 2.63 N/15mm
        ([at_least("1.0"), at_most("3.0", "N/15mm")], ()),
        # equal, exactly, where binary numbers say otherwise: 0.13 x 15 is 1.95
        ([at_least("0.13", "N/mm"), at_most("1.95", "N/15mm")], ()),
        ([at_least("0.130001", "N/mm"), at_most("1.95", "N/15mm")], ("limits-crossed",)),
    ],
)
def test_limits(limits, expected):
    assert codes(locking(limits=limits)) == expected


def test_all_reasons_come_at_once():
    wrong = {"technique": "C", "rate": rate("400 mm/min"), "width_mm": Decimal("20"), "conditioning_hours": 0.0}
    assert codes(locking(groups=0, limits=[at_least("3"), at_most("1")], **wrong)) == (
        "technique-outside-method",
        "rate-outside-method",
        "width-outside-method",
        "conditioning-unexplained",
        "plan-empty",
        "limits-crossed",
    )
