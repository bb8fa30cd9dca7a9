"""The command that compares the numbers: what it prints, and that it fails when one is off. No database is used."""

import io
import sys

import pytest
from django.core.management import CommandError, call_command

from tests.reference import agreement
from tests.reference.case import Case
from tests.reference.cases import rounding

RIGHT = Case("tolerance.one_sided_factor", "a table", "2.911", lambda: 2.9110)
EXACT = Case("summary.summarise", "another program", 2.0, lambda: 2.0 + 1e-10)
OFF = Case("summary.summarise", "another program", 2.0, lambda: 2.0001)
OFF_PRINTED = Case("tolerance.two_sided_factor", "a table", "3.393", lambda: 3.394)


def run(monkeypatch, cases):
    """What the command prints, and how it fails, on these cases alone."""
    monkeypatch.setattr(agreement, "every_case", lambda: iter(cases))
    printed = io.StringIO()
    try:
        call_command("check_numbers", stdout=printed)
    except CommandError as failure:
        return printed.getvalue().splitlines(), str(failure)
    return printed.getvalue().splitlines(), None


def test_it_prints_a_line_for_each_function_and_source(monkeypatch):
    printed, failure = run(monkeypatch, [RIGHT, EXACT, EXACT])
    assert failure is None
    assert [line.split("  ")[0] for line in printed[:-1]] == [
        "function",
        "tolerance.one_sided_factor",
        "summary.summarise",
    ]
    assert printed[1].split() == ["tolerance.one_sided_factor", "1", "a", "table", "every", "printed", "digit"]
    assert printed[2].split()[1:] == ["2", "another", "program", "10.3", "digits"]
    assert printed[-1] == "3 numbers of 2 functions compared."


def test_it_holds_for_committed_cases(monkeypatch):
    printed, failure = run(monkeypatch, list(rounding.every_case()))
    assert failure is None
    assert any("ISO 80000-1" in line and line.endswith("every printed digit") for line in printed)


@pytest.mark.parametrize(
    ("cases", "line", "function"),
    [
        ([RIGHT, EXACT, OFF], "4.3 digits, off", "summary.summarise"),
        ([RIGHT, OFF_PRINTED], "off", "tolerance.two_sided_factor"),
        ([OFF, OFF], "4.3 digits, off", "summary.summarise"),
    ],
)
def test_it_fails_when_a_number_is_off_and_still_prints_the_table(monkeypatch, cases, line, function):
    printed, failure = run(monkeypatch, cases)
    assert failure == f"Off by more than the source allows: {function}"
    assert any(row.startswith(function) and row.endswith(line) for row in printed)


def test_a_wrong_factor_in_the_code_is_seen(monkeypatch):
    from labrecords.stats import factors
    from tests.reference.cases import tolerance

    cases = [case for case in tolerance.every_case() if case.function == "tolerance.one_sided_factor"]
    right = factors.one_sided
    monkeypatch.setattr(factors, "one_sided", lambda *claim: right(*claim) * (1 + 1e-10))
    _, failure = run(monkeypatch, cases)
    assert failure == "Off by more than the source allows: tolerance.one_sided_factor"


def test_nothing_to_compare_is_a_failure(monkeypatch):
    assert "nothing to compare" in run(monkeypatch, [])[1]


def test_without_the_tests_folder_it_says_what_is_missing(monkeypatch):
    monkeypatch.setitem(sys.modules, "tests.reference.agreement", None)
    with pytest.raises(CommandError, match=r"needs the tests folder and what tests/requirements\.txt lists"):
        call_command("check_numbers")
