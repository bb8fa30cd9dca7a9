"""What is entered: force, unit, failure modes, and the trace beside the typed value."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.value import check_value

from .good import ENTRY, METHOD, SETUP, TRACE, traced

OPENED = {"opened": True, "peak_force_n": None, "typed_force_n": None, "modes": (), "unit": None}


def asked(entry):
    return codes(check_value(setup=SETUP, method=METHOD, entry=entry))


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({}, ()),
        ({"peak_force_n": 0.0}, ()),
        ({"peak_force_n": None}, ("no-value",)),
        ({"peak_force_n": -0.01}, ("negative",)),
        ({"unit": "N"}, ()),
        ({"unit": None}, ()),
        ({"unit": "N/15mm"}, ("unit-mismatch",)),
        ({"unit": "lbf"}, ("unit-mismatch",)),
        ({"unit": ""}, ("unit-mismatch",)),
        ({"modes": ("BR",)}, ()),
        ({"modes": ("AP", "CO")}, ()),
        ({"modes": ()}, ("no-mode",)),
        ({"modes": ("AP", "XX")}, ("mode-unknown",)),
        ({"modes": ("ap",)}, ("mode-unknown",)),
        (OPENED, ()),
        (OPENED | {"modes": ("XX",)}, ()),
        (OPENED | {"typed_force_n": 5.0}, ("opened-with-force",)),
        (OPENED | {"trace": TRACE}, ("opened-with-force",)),
        ({"peak_force_n": None, "unit": "kgf", "modes": ()}, ("no-value", "unit-mismatch", "no-mode")),
    ],
)
def test_value(changed, expected):
    assert asked(replace(ENTRY, **changed)) == expected


def test_unknown_modes_are_named_beside_the_known_ones():
    [answer] = check_value(setup=SETUP, method=METHOD, entry=replace(ENTRY, modes=("YY", "AP", "XX")))
    assert answer.why == "YY, XX: P-3 version 1 has AP, CO, BR."


@pytest.mark.parametrize(
    ("typed", "peak", "expected"),
    [
        (10.0, 10.0, ()),
        (10.0499, 10.0, ()),
        (9.9501, 10.0, ()),
        (10.0501, 10.0, ("trace-disagrees",)),
        (9.9499, 10.0, ("trace-disagrees",)),
        (100.0, 10.0, ("trace-disagrees",)),
        (0.0, 0.0, ()),
        (0.001, 0.0, ("trace-disagrees",)),
        (None, 10.0, ()),
    ],
)
def test_typed_value_and_trace_agree_within_half_a_percent(typed, peak, expected):
    assert METHOD.trace_agreement == 0.005
    assert asked(replace(traced(peak_force_n=peak), typed_force_n=typed)) == expected


@pytest.mark.parametrize(
    ("trace", "expected"),
    [(None, ()), (TRACE, ()), (replace(TRACE, used_by="SP-000122-P"), ("trace-reused",))],
)
def test_a_trace_belongs_to_one_specimen(trace, expected):
    assert asked(replace(ENTRY, trace=trace)) == expected
