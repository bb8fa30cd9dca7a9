"""How long a link to a report lives, and who may end it."""

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.links import check_link, may_revoke


@pytest.mark.parametrize("days", [1, 14, 90])
def test_a_link_of_so_many_days(days):
    assert check_link(whom="the auditor", days=days) == []


@pytest.mark.parametrize("days", [-1, 0, 91])
def test_a_link_of_too_many_or_none(days):
    assert codes(check_link(whom="the auditor", days=days)) == ("link-too-long",)


def test_for_whom_must_be_said_and_both_reasons_are_told():
    assert codes(check_link(whom="  ", days=14)) == ("words-missing",)
    assert codes(check_link(whom="", days=0)) == ("words-missing", "link-too-long")


@pytest.mark.parametrize(
    ("laboratory", "company", "may"), [(True, False, True), (False, True, True), (False, False, False)]
)
def test_who_may_end_it(laboratory, company, may):
    assert may_revoke(of_laboratory=laboratory, same_company=company) is may
