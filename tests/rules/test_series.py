"""One technique, one rate, one width, one reduction: what agrees with the locked set-up, and who says otherwise."""

from dataclasses import replace
from decimal import Decimal

import pytest

from labrecords.rules import series
from labrecords.rules.answers import codes

from .good import ENTRY, METHOD, RUN, SETUP, TRACE, rate, traced

ENTRY_SAYS, RUN_SAYS, FILE_SAYS = "The entry", "The run", "The file"


@pytest.mark.parametrize(
    ("entry", "run", "file", "disagree"),
    [
        ("A", "A", "A", []),
        ("A", "A", None, []),
        ("A", "A", "", []),
        ("C", "A", None, [ENTRY_SAYS]),
        ("A", "B", None, [RUN_SAYS]),
        ("A", "A", "C", [FILE_SAYS]),
        ("", "A", None, [ENTRY_SAYS]),
        ("C", "B", "a", [ENTRY_SAYS, RUN_SAYS, FILE_SAYS]),
    ],
)
def test_technique(entry, run, file, disagree):
    sent = replace(traced(stated_technique=file), technique=entry)
    answers = series.check_technique(setup=SETUP, entry=sent, run=replace(RUN, technique=run))
    assert [answer.facts["source"] for answer in answers] == disagree
    assert set(codes(answers)) <= {"technique-changed"}


def test_technique_without_a_trace_asks_entry_and_run():
    assert series.check_technique(setup=SETUP, entry=ENTRY, run=RUN) == []
    [answer] = series.check_technique(setup=SETUP, entry=replace(ENTRY, technique="C"), run=RUN)
    assert answer.why == (
        "The entry says technique C (tail held at 180 degrees against a rigid plate); "
        "the study is locked to A (tail unsupported)."
    )


def test_technique_in_words_when_there_is_none_or_an_unknown_one():
    assert series.technique_words("") == "none"
    assert series.technique_words("D") == "D"


# An inch is 25.4 mm, exactly. NIST Special Publication 811 (2008), appendix B
SAME_RATES = [
    ("12 in/min", "12 in/min"),
    ("12 in/min", "12.000 in/min"),
    ("12 in/min", "304.8 mm/min"),
    ("304.80 mm/min", "12 in/min"),
    ("11 in/min", "279.4 mm/min"),
    ("8 in/min", "203.2 mm/min"),
    ("250 mm/min", "250.0 mm/min"),
]
OTHER_RATES = [
    ("12 in/min", "300 mm/min"),
    ("12 in/min", "305 mm/min"),
    ("12 in/min", "304.799999999 mm/min"),
    ("12 in/min", "304.800000001 mm/min"),
    ("12 in/min", "12.000000001 in/min"),
    ("12 in/min", "12 mm/min"),
    ("300 mm/min", "11.811 in/min"),
    ("11 in/min", "12 in/min"),
]


@pytest.mark.parametrize(("locked", "said"), SAME_RATES)
def test_same_rate(locked, said):
    assert series.same_rate(rate(locked), rate(said))
    assert _rate_sources(locked, entry=said, run=said, file=said) == []


@pytest.mark.parametrize(("locked", "said"), OTHER_RATES)
def test_another_rate_whoever_says_it(locked, said):
    assert not series.same_rate(rate(locked), rate(said))
    assert _rate_sources(locked, entry=said, run=locked, file=None) == [ENTRY_SAYS]
    assert _rate_sources(locked, entry=locked, run=said, file=None) == [RUN_SAYS]
    assert _rate_sources(locked, entry=locked, run=locked, file=said) == [FILE_SAYS]
    assert _rate_sources(locked, entry=said, run=said, file=said) == [ENTRY_SAYS, RUN_SAYS, FILE_SAYS]


def _rate_sources(locked, *, entry, run, file):
    sent = traced(stated_rate=rate(file) if file else None, measured_rate_mm_min=None)
    answers = series.check_rate(
        setup=replace(SETUP, rate=rate(locked)),
        method=METHOD,
        entry=replace(sent, rate=rate(entry)),
        run=replace(RUN, rate=rate(run)),
    )
    assert set(codes(answers)) <= {"rate-changed"}
    return [answer.facts["source"] for answer in answers]


def test_rate_without_a_trace_asks_entry_and_run():
    assert series.check_rate(setup=SETUP, method=METHOD, entry=ENTRY, run=RUN) == []
    [answer] = series.check_rate(setup=SETUP, method=METHOD, entry=replace(ENTRY, rate=rate("11.50 in/min")), run=RUN)
    assert answer.why == "The entry says 11.5 in/min; the study is locked to 10 in/min."


@pytest.mark.parametrize(
    ("locked", "tolerance", "measured", "expected"),
    [
        ("250 mm/min", 0.02, None, []),
        ("250 mm/min", 0.02, 250.0, []),
        ("250 mm/min", 0.02, 245.0, []),
        ("250 mm/min", 0.02, 255.0, []),
        ("250 mm/min", 0.02, 244.99, ["rate-changed"]),
        ("250 mm/min", 0.02, 255.01, ["rate-changed"]),
        ("250 mm/min", 0.02, 0.0, ["rate-changed"]),
        ("250 mm/min", 0.02, -250.0, ["rate-changed"]),
        ("250 mm/min", 0.0, 250.0, []),
        ("250 mm/min", 0.0, 250.01, ["rate-changed"]),
        ("10 in/min", 0.02, 254.0, []),
        ("10 in/min", 0.02, 248.95, []),
        ("10 in/min", 0.02, 259.05, []),
        ("10 in/min", 0.02, 248.90, ["rate-changed"]),
        ("10 in/min", 0.02, 259.10, ["rate-changed"]),
        ("10 in/min", 0.02, 10.0, ["rate-changed"]),
    ],
)
def test_rate_measured_from_the_trace(locked, tolerance, measured, expected):
    assert list(codes(_measured(locked, tolerance, measured))) == expected


def test_measured_rate_is_told_in_the_locked_unit():
    [answer] = _measured("10 in/min", 0.025, 300.0)
    assert answer.facts["source"] == "trace"
    assert answer.why == (
        "The trace's own time and travel give 11.81 in/min; the study is locked to 10 in/min, "
        "and they must agree within 2.5 %."
    )


def _measured(locked, tolerance, measured):
    said = rate(locked)
    return series.check_rate(
        setup=replace(SETUP, rate=said),
        method=replace(METHOD, rate_tolerance=tolerance),
        entry=replace(traced(stated_rate=None, measured_rate_mm_min=measured), rate=said),
        run=replace(RUN, rate=said),
    )


@pytest.mark.parametrize(
    ("measured", "width", "expected"),
    [
        (False, "25.4", []),
        (False, "25.400", []),
        (False, "25.39", ["width-changed"]),
        (False, "15", ["width-changed"]),
        (True, "25.4", []),
        (True, "25.17", []),
        (True, "0.01", []),
        (True, "0", ["width-changed"]),
        (True, "-25.4", ["width-changed"]),
    ],
)
def test_width(measured, width, expected):
    setup = replace(SETUP, width_measured=measured)
    answers = series.check_width(setup=setup, entry=replace(ENTRY, width_mm=Decimal(width)))
    assert list(codes(answers)) == expected


def test_width_says_what_was_locked():
    [nominal] = series.check_width(setup=SETUP, entry=replace(ENTRY, width_mm=Decimal("15.000")))
    assert nominal.why == "The entry says 15 mm; the study is locked to 25.4 mm."
    [measured] = series.check_width(
        setup=replace(SETUP, width_measured=True), entry=replace(ENTRY, width_mm=Decimal("0"))
    )
    assert measured.why == "The entry says 0 mm; the study is locked to a measured width."


@pytest.mark.parametrize(
    ("trace", "expected"),
    [
        (None, []),
        (TRACE, []),
        (replace(TRACE, threshold_fraction=0.25), ["reduction-changed"]),
        (replace(TRACE, span_fraction=1.0), ["reduction-changed"]),
    ],
)
def test_reduction(trace, expected):
    assert list(codes(series.check_reduction(setup=SETUP, entry=replace(ENTRY, trace=trace)))) == expected


@pytest.mark.parametrize(
    ("width", "expected"), [("1000", ()), ("1000.001", ("width-changed",)), ("1E+9", ("width-changed",))]
)
def test_a_measured_width_is_one_of_a_strip(width, expected):
    answers = series.check_width(
        setup=replace(SETUP, width_measured=True), entry=replace(ENTRY, width_mm=Decimal(width))
    )
    assert codes(answers) == expected
