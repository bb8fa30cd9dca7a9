"""Comparisons of groups against NIST's certified files, handbook and textbook figures, R and mpmath."""

import math
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache, partial
from pathlib import Path

import scipy

from labrecords.stats import comparisons, multiplicity
from tests.reference import tables
from tests.reference.case import Case

STRD = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_anova"

# Digits of the certified values that the doubles nearest to the printed data still allow. The sums of squares are
# computed without rounding (the cases from exact fractions below show it), so all that is lost is lost in reading
# the decimals: a datum near 1e6 is held to 6e-11 and one near 1e12 to 6e-5, beside deviations of 0.1 and 0.2. The
# certified values themselves are met to all 15 digits by the same sums over the decimals (test_comparisons).
DIGITS = {
    "AtmWtAg": 10.0,  # 7 constant leading digits
    "SiRstv": 13.0,
    "SmLs01": 15.0,
    "SmLs02": 15.0,
    "SmLs03": 15.0,
    "SmLs04": 10.0,  # 7 constant leading digits
    "SmLs05": 9.8,
    "SmLs06": 9.8,
    "SmLs07": 3.8,  # 13 constant leading digits
    "SmLs08": 3.8,
    "SmLs09": 3.8,
}
# What R's own integrals leave uncertain, in absolute terms: ptukey (algorithm AS 190) about 1e-9 and qtukey, which
# iterates on it, about 1e-8; multcomp's multivariate t, at random points, 1e-3 by default.
R_UNSURE = {
    ("tukey", "p_value"): 1e-9,
    ("tukey", "half"): 1e-8,
    ("games_howell", "p_value"): 1e-9,
    ("games_howell", "half"): 1e-8,
    ("dunnett", "p_value"): 1e-3,
    ("dunnett", "half"): 1e-3,
}

# Dunnett's two-sided 5 % points for equal numbers, by degrees of freedom: 1 to 5 groups beside the reference.
DUNNETT_TABLE = {
    10: ("2.23", "2.57", "2.76", "2.89", "2.99"),
    20: ("2.09", "2.38", "2.54", "2.65", "2.73"),
    60: ("2.00", "2.27", "2.41", "2.51", "2.58"),
}
# Studentised range: tail and degrees of freedom, 2 to 5 groups.
RANGE_TABLE = {
    (0.05, 10): ("3.15", "3.88", "4.33", "4.65"),
    (0.05, 20): ("2.95", "3.58", "3.96", "4.23"),
    (0.05, 60): ("2.83", "3.40", "3.74", "3.98"),
    (0.01, 10): ("4.48", "5.27", "5.77", "6.14"),
    (0.01, 20): ("4.02", "4.64", "5.02", "5.29"),
    (0.01, 60): ("3.76", "4.28", "4.59", "4.82"),
}


def every_case() -> Iterator[Case]:
    """Numbers that outside sources know."""
    yield from _certified()
    yield from _gears()
    yield from _tables()
    yield from _r()
    yield from _mpmath()


@lru_cache
def certified(name: str) -> tuple[dict[str, str], tuple[tuple[str, ...], ...]]:
    """Certified values and data, as printed, of one of NIST's files."""
    lines = (STRD / f"{name}.dat").read_text(encoding="utf-8").splitlines()
    words = [line.split() for line in lines]
    between, within = (next(row for row in words[36:60] if row[:1] == [first]) for first in ("Between", "Within"))
    squared, deviation = (next(row[-1] for row in words[36:60] if first in row) for first in ("R-Squared", "Deviation"))
    values = dict(zip(("ss_between", "ms_between", "f_statistic"), between[-3:], strict=True))
    values |= dict(zip(("ss_within", "ms_within"), within[-2:], strict=True))
    groups: dict[str, list[str]] = {}
    for group, datum in (row for row in words[60:] if len(row) == 2):
        groups.setdefault(group, []).append(datum)
    return values | {"r_squared": squared, "residual_sd": deviation}, tuple(map(tuple, groups.values()))


def sums_of_squares(groups: list[list[Fraction]]) -> tuple[Fraction, Fraction]:
    """Between and within groups, by the definition, in fractions."""
    mean = sum(sum(group) for group in groups) / sum(len(group) for group in groups)
    means = [sum(group) / len(group) for group in groups]
    between = sum(len(group) * (own - mean) ** 2 for group, own in zip(groups, means, strict=True))
    return between, sum((value - own) ** 2 for group, own in zip(groups, means, strict=True) for value in group)


@lru_cache
def _one_way(name: str) -> comparisons.OneWay:
    return comparisons.one_way(*([float(datum) for datum in group] for group in certified(name)[1]))


def _certified() -> Iterator[Case]:
    for name, digits in DIGITS.items():
        values, groups = certified(name)
        source = f"NIST StRD {name} (file in scipy)"
        for field, text in values.items():
            compute = partial(_field, partial(_one_way, name), field)
            yield Case("comparisons.one_way", source, float(text), compute, digits)
        if sum(map(len, groups)) < 5000:  # the fractions of 18,009 values take a while
            between, within = sums_of_squares([[Fraction(float(datum)) for datum in group] for group in groups])
            for field, exact in (("ss_between", between), ("ss_within", within)):
                compute = partial(_field, partial(_one_way, name), field)
                yield Case("comparisons.one_way", "exact fractions of the doubles", float(exact), compute, 15.0)


def _gears() -> Iterator[Case]:
    """NIST's gear diameters: the data and both results are printed in the handbook."""
    body = tables.rows("gear.csv")[1:]
    batches = [[float(row[1]) for row in body if row[0] == batch] for batch in dict.fromkeys(row[0] for row in body)]
    bartlett, levene = partial(comparisons.bartlett, *batches), partial(comparisons.brown_forsythe, *batches)
    handbook = "NIST e-Handbook {} (GEAR.DAT), from memory"
    yield Case("comparisons.bartlett", handbook.format("1.3.5.7"), "20.7859", partial(_field, bartlett, "statistic"))
    yield Case(
        "comparisons.brown_forsythe", handbook.format("1.3.5.10"), "1.7059", partial(_field, levene, "statistic")
    )


def _tables() -> Iterator[Case]:
    for df, row in DUNNETT_TABLE.items():
        for groups, text in enumerate(row, 1):
            compute = partial(multiplicity.dunnett_critical, 0.05, reference=5, others=[5] * groups, df=df)
            yield Case("comparisons.many_to_one", "Dunnett's table, from memory", text, compute)
    for (tail, df), row in RANGE_TABLE.items():
        for groups, text in enumerate(row, 2):
            compute = partial(multiplicity.range_critical, tail, groups=groups, df=df)
            yield Case("comparisons.all_pairs", "table of the studentised range, from memory", text, compute)
    # Dunnett's first example (1955): strength of a fabric after three treatments, and the standard.
    fabric = {"standard": [55, 47, 48], "1": [55, 64, 64], "2": [55, 49, 52], "3": [50, 44, 41]}
    compute = partial(_field, partial(comparisons.many_to_one, fabric, reference="standard"), "residual_sd")
    yield Case("comparisons.many_to_one", "Dunnett (1955), from memory", "4.36", compute)


def _mpmath() -> Iterator[Case]:
    for kind, first, others, df, given, value in tables.rows("mp_comparisons.csv")[1:]:
        arguments = {"df": float(df)}
        if kind.startswith("dunnett"):
            arguments |= {"reference": int(first), "others": [int(n) for n in others.split()]}
        else:
            arguments |= {"groups": int(first)}
        name = kind.replace(" ", "_") if "critical" in kind else f"{kind}_upper"
        function = "many_to_one" if kind.startswith("dunnett") else "all_pairs"
        compute = partial(getattr(multiplicity, name), float(given), **arguments)
        yield Case(f"comparisons.{function}", "mpmath, 24 digits", float(value), compute, 12.0)


def _r() -> Iterator[Case]:
    for name, text in tables.rows("r_comparisons.csv")[1:]:
        test, subject, *field = name.split(":")
        reader = READERS[test]
        function, digits, compute = reader(test, subject, field)
        if (test, field[-1]) in R_UNSURE:
            digits = math.log10(float(text) / R_UNSURE[test, field[-1]])
        source = "R 4.2.2 multcomp 1.4-22" if test == "dunnett" else "R 4.2.2"
        yield Case(f"comparisons.{function}", source, float(text), compute, digits)


def _pair(test, subject, field):
    a, b = (_groups()[name] for name in subject.split("-"))
    name = field[0]
    options, digits = {}, 12.0
    function = test.removesuffix("_pooled").removesuffix("_tied")
    if function == "equivalence":
        options = {"low": -0.2, "high": 0.2, "equal_spread": test.endswith("_pooled")}
    elif function == "equivalence_ratio":
        options = {"low": 0.8, "high": 1.25}
    elif test == "rank_sum_tied":
        a, b = ([round(value, 1) for value in group] for group in (a, b))
    else:
        options, name = _confidence(name)
    return function, digits, partial(_field, partial(getattr(comparisons, function), a, b, **options), name)


def _confidence(name):
    """low0.95 is the lower limit of confidence 0.95."""
    for end in ("low", "high"):
        if name.startswith(end) and name != end:
            return {"confidence": float(name.removeprefix(end))}, end
    return {}, name


def _several(test, subject, field):
    return test, 12.0, partial(_field, partial(getattr(comparisons, test), *_set(subject).values()), field[0])


def _tukey(test, subject, field):
    second, first = field[0].split("-")  # R takes the first of the levels from the second
    sign = -1 if field[1] == "difference" else 1
    return "all_pairs", 12.0, partial(_compared, _all_pairs, (subject, True), (first, second), field[1], sign)


def _games_howell(test, subject, field):
    return "all_pairs", 12.0, partial(_compared, _all_pairs, (subject, False), tuple(field[0].split("-")), field[1], 1)


def _dunnett(test, subject, field):
    return "many_to_one", 12.0, partial(_compared, _many_to_one, (subject,), (field[0], "nominal"), field[1], 1)


READERS = {
    "welch": _pair,
    "variance_ratio": _pair,
    "rank_sum": _pair,
    "rank_sum_tied": _pair,
    "equivalence": _pair,
    "equivalence_pooled": _pair,
    "equivalence_ratio": _pair,
    "one_way": _several,
    "brown_forsythe": _several,
    "bartlett": _several,
    "tukey": _tukey,
    "games_howell": _games_howell,
    "dunnett": _dunnett,
}


def _field(found, name):
    result = found()
    if name == "half":
        return (result.interval.high - result.interval.low) / 2
    return getattr(result.interval if name in ("low", "high") else result, name)


def _compared(found, arguments, names, field, sign):
    result = next(one for one in found(*arguments).comparisons if (one.first, one.second) == names)
    return sign * _field(lambda: result, field)


@lru_cache
def _all_pairs(name, equal_spread):
    return comparisons.all_pairs(_set(name), equal_spread=equal_spread)


@lru_cache
def _many_to_one(name):
    return comparisons.many_to_one(_set(name), reference="nominal")


@lru_cache
def _groups():
    groups = {}
    for name, value in tables.rows("r_comparisons_groups.csv")[1:]:
        groups.setdefault(name, []).append(float(value))
    return groups


def _set(name):
    """All values, or the first six of each group."""
    return {key: values[:6] if name == "equal" else values for key, values in _groups().items()}
