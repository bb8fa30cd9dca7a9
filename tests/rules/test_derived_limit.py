"""A process limit: settled outwards, refused on the bad side of a requirement, used where it was derived."""

from decimal import Decimal

import pytest

from labrecords.rules import derived_limit
from labrecords.rules.answers import codes
from labrecords.rules.comparable import differences
from labrecords.rules.derived_limit import Demand


@pytest.mark.parametrize(
    ("side", "bound", "margin", "settled"),
    [
        ("lower", 1.2386, "5", "1.17"),  # 1.17667 by hand
        ("lower", 1.2386, "0", "1.23"),
        ("upper", 2.041, "5", "2.15"),  # 2.14305 by hand
        ("upper", 2.04, "0", "2.04"),  # on the decimal: not a step beyond
    ],
)
def test_a_limit_is_rounded_outwards(side, bound, margin, settled):
    found = derived_limit.settle(bound, side=side, margin_percent=Decimal(margin), decimals=2)
    assert found == Decimal(settled)


def proposed(side, value, *demands, state="reviewed", rationale="All three hold."):
    return codes(
        derived_limit.check_proposal(
            state=state,
            side=side,
            value=None if value is None else Decimal(value),
            unit="lbf/in",
            demands=demands,
            rationale=rationale,
        )
    )


AT_LEAST = Demand("lower", Decimal("1.5"), "N/15mm")  # 0.571 lbf/in (1 lbf = 4.4482216152605 N, 1 in = 25.4 mm)
AT_MOST = Demand("upper", Decimal("3"), "lbf/in")


def test_a_limit_on_the_bad_side_of_its_requirement_is_refused_in_any_unit():
    assert proposed("lower", "0.58", AT_LEAST, AT_MOST) == ()
    assert proposed("lower", "0.57", AT_LEAST, AT_MOST) == ("requirement-not-cleared",)
    assert proposed("upper", "3.00", AT_LEAST, AT_MOST) == ()
    assert proposed("upper", "3.01", AT_LEAST, AT_MOST) == ("requirement-not-cleared",)


def test_all_reasons_are_given_at_once():
    assert proposed("lower", None, state="testing", rationale="") == ("window-not-tested", "words-missing", "no-bound")
    assert proposed("lower", "0") == ("no-bound",)


def approval(**changed):
    given = {"state": "reviewed", "unchanged": True, "same_person": False, "words": "Read.", "name": "Runa"}
    return codes(derived_limit.check_approval(**given | changed))


def test_an_approval_asks_for_accepted_results_that_are_still_those():
    assert approval() == ()
    assert approval(state="released") == ()
    assert approval(state="in review") == ("window-not-tested",)
    assert approval(unchanged=False, same_person=True, words=" ") == ("same-person", "content-changed", "words-missing")


def use(kind="process", *, in_force=True, here=None):
    then = {"Technique": "A", "Conditioning": "40 h"}
    return codes(
        derived_limit.check_use(name="L-1", kind=kind, in_force=in_force, differs=differences(then, here or then))
    )


def test_a_limit_is_used_where_it_was_derived():
    assert use() == ()
    assert use(here={"Technique": "A", "Conditioning": "24 h"}) == ()
    assert use(here={"Technique": "C", "Conditioning": "40 h"}) == ("limit-taken-otherwise",)
    assert use("alert", in_force=False) == ("requirement-derived", "limit-not-in-force")
