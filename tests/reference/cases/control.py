"""Control charts against tables, the handbook's examples, R and mpmath."""

import math
from collections.abc import Iterator
from functools import lru_cache, partial

from labrecords.stats import control
from tests.reference import tables
from tests.reference.case import Case

SYMBOLS = ("c4", "d2", "d3", "A2", "A3", "B3", "B4", "D3", "D4")
CONSTANTS = {
    2: "0.7979 1.1284 0.8525 1.8800 2.6587 0 3.2665 0 3.2665",
    3: "0.8862 1.6926 0.8884 1.0233 1.9544 0 2.5682 0 2.5746",
    4: "0.9213 2.0588 0.8798 0.7286 1.6281 0 2.2660 0 2.2821",
    5: "0.9400 2.3259 0.8641 0.5768 1.4273 0 2.0890 0 2.1145",
    6: "0.9515 2.5344 0.8480 0.4832 1.2871 0.0304 1.9696 0 2.0038",
    7: "0.9594 2.7044 0.8332 0.4193 1.1819 0.1177 1.8823 0.0757 1.9243",
    8: "0.9650 2.8472 0.8198 0.3725 1.0991 0.1851 1.8149 0.1362 1.8638",
    9: "0.9693 2.9700 0.8078 0.3367 1.0317 0.2391 1.7609 0.1840 1.8160",
    10: "0.9727 3.0775 0.7971 0.3083 0.9754 0.2837 1.7163 0.2230 1.7770",
    11: "0.9754 3.1729 0.7873 0.2851 0.9274 0.3213 1.6787 0.2556 1.7444",
    12: "0.9776 3.2585 0.7785 0.2658 0.8859 0.3535 1.6465 0.2833 1.7167",
    15: "0.9823 3.4718 0.7562 0.2231 0.7885 0.4282 1.5718 0.3466 1.6534",
    20: "0.9869 3.7350 0.7287 0.1796 0.6797 0.5102 1.4898 0.4147 1.5853",
    25: "0.9896 3.9306 0.7084 0.1526 0.6063 0.5648 1.4352 0.4593 1.5407",
}
AVERAGES = (
    "50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 "
    "50.11 49.36 49.52 50.05 49.38 49.92 50.73 51.23 51.94 51.99"
)


def every_case() -> Iterator[Case]:
    """Numbers that outside sources know."""
    yield from _tables()
    yield from _closed_forms()
    yield from _handbook()
    yield from _r()
    for n, *numbers in tables.rows("mp_charts.csv")[1:]:
        for symbol, value in zip(("c4", "d2", "d3"), numbers, strict=True):
            yield Case("control.constants", "mpmath, 30 digits", float(value), partial(_constant, int(n), symbol), 11.5)


def _tables() -> Iterator[Case]:
    for n, line in CONSTANTS.items():
        for symbol, printed in zip(SYMBOLS, line.split(), strict=True):
            yield Case("control.constants", "computed from the definition", printed, partial(_constant, n, symbol))
    usual = "ASTM manual's table of chart constants, from memory"
    for n, symbol, printed in ((5, "c4", "0.9400"), (5, "d2", "2.326"), (5, "A2", "0.577"), (5, "D4", "2.114")):
        yield Case("control.constants", usual, printed, partial(_constant, n, symbol))


def _closed_forms() -> Iterator[Case]:
    source, root = "closed form", math.sqrt(math.pi)
    for n, symbol, value in (
        (2, "c4", math.sqrt(2) / root),
        (3, "c4", root / 2),
        (2, "d2", 2 / root),
        (3, "d2", 3 / root),
        (2, "d3", math.sqrt(2 - 4 / math.pi)),
    ):
        yield Case("control.constants", source, value, partial(_constant, n, symbol), 12.0)


def _handbook() -> Iterator[Case]:
    # The page divides by 1.128, so its limits, 55.8041 and 45.8159, have but four digits of the exact ones.
    source = "NIST e-Handbook 6.3.2.2, from memory"
    for name, printed in (("centre", "50.81"), ("mr_bar", "1.8778"), ("upper", "55.80"), ("lower", "45.82")):
        yield Case("control.individuals", source, printed, partial(_attribute, _flow, name))
    source = "NIST e-Handbook 6.3.2.4, from memory"
    yield Case("control.ewma", source, "52.5884", partial(_attribute, _drift, "steady_upper"))
    # 47.4115 on the page; 50 - 2.5884 is 47.4116
    yield Case("control.ewma", source, "47.41", partial(_attribute, _drift, "steady_lower"))
    for place, printed in enumerate(AVERAGES.split()):
        yield Case("control.ewma", source, printed, partial(_attribute, _drift, "values", place))
    yield Case("control.ewma", source, "0", lambda: float(len(_drift().signals)))
    usual = "the usual factors of mean moving ranges, from memory"
    yield Case("control.individuals", usual, "2.66", lambda: (_flow().upper - _flow().centre) / _flow().mr_bar)
    yield Case("control.individuals", usual, "3.267", lambda: _flow().mr_upper / _flow().mr_bar)


def _r() -> Iterator[Case]:
    for kind, a, b, value in tables.rows("r_control.csv")[1:]:
        if kind == "constants":
            # R sums log-gamma functions, which leaves 12 digits
            yield Case("control.constants", "R 4.2.2", float(value), partial(_constant, int(a), b), 11.0)
        elif kind == "ewma":
            call = partial(_attribute, _drift, "values" if b == "value" else b, int(a) - 1)
            yield Case("control.ewma", "R 4.2.2 filter", float(value), call, 13.0)
        elif kind in ("individuals", "mean_and_sd"):
            chart = _flow if kind == "individuals" else _groups
            yield Case(f"control.{kind}", "R 4.2.2", float(value), partial(_attribute, chart, a), 12.0)


@lru_cache
def _column(kind: str) -> tuple[tuple[str, float], ...]:
    return tuple((row[1], float(row[-1])) for row in tables.rows("r_control.csv") if row[0] == kind)


def _flow():
    return control.individuals([value for _, value in _column("flow")])


def _drift():
    return control.ewma([value for _, value in _column("drift")], weight=0.3, limit=3, mean=50, sigma=2.0539)


def _groups():
    rows = _column("group")
    return control.mean_and_sd([[value for name, value in rows if name == group] for group in "1234"])


def _constant(n: int, symbol: str) -> float:
    return getattr(control.constants(n), symbol)


def _attribute(call, name: str, place: int | None = None) -> float:
    found = getattr(call(), name)
    return found if place is None else found[place]
