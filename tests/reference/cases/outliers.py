"""Outlier tests against the handbook's examples, tables and R."""

from collections.abc import Iterator
from functools import lru_cache, partial

from labrecords.stats import outliers, robust
from tests.reference import tables
from tests.reference.case import Case

COLUMNS = (("high", 0.05), ("two", 0.05), ("high", 0.01), ("two", 0.01))
# Critical values by n, in the order of COLUMNS.
CRITICAL = {
    3: "1.153 1.154 1.155 1.155",
    4: "1.463 1.481 1.493 1.496",
    5: "1.671 1.715 1.749 1.764",
    6: "1.822 1.887 1.944 1.973",
    7: "1.938 2.020 2.097 2.139",
    8: "2.032 2.127 2.221 2.274",
    9: "2.110 2.215 2.323 2.387",
    10: "2.176 2.290 2.410 2.482",
    11: "2.234 2.355 2.484 2.564",
    12: "2.285 2.412 2.549 2.636",
    13: "2.331 2.462 2.607 2.699",
    14: "2.372 2.507 2.658 2.755",
    15: "2.409 2.548 2.705 2.806",
    16: "2.443 2.586 2.747 2.852",
    17: "2.475 2.620 2.785 2.894",
    18: "2.504 2.652 2.821 2.932",
    19: "2.531 2.681 2.853 2.968",
    20: "2.557 2.708 2.884 3.001",
    21: "2.580 2.734 2.912 3.031",
    22: "2.603 2.758 2.939 3.060",
    23: "2.624 2.780 2.963 3.087",
    24: "2.644 2.802 2.987 3.112",
    25: "2.663 2.822 3.009 3.135",
    26: "2.681 2.841 3.029 3.158",
    27: "2.698 2.859 3.049 3.179",
    28: "2.714 2.876 3.068 3.199",
    29: "2.730 2.893 3.086 3.218",
    30: "2.745 2.908 3.103 3.236",
    35: "2.812 2.978 3.178 3.316",
    40: "2.868 3.036 3.239 3.381",
    50: "2.957 3.128 3.337 3.482",
    60: "3.027 3.200 3.411 3.560",
    75: "3.109 3.283 3.497 3.648",
    100: "3.210 3.384 3.600 3.754",
}


def every_case() -> Iterator[Case]:
    """Numbers that outside sources know."""
    yield from _handbook()
    yield from _rosner()
    for n, line in CRITICAL.items():
        for (side, alpha), printed in zip(COLUMNS, line.split(), strict=True):
            call = partial(outliers.grubbs_critical, n, side=side, alpha=alpha)
            yield Case("outliers.grubbs_critical", "ASTM E178 and ISO 5725-2 tables, from memory", printed, call)
    yield from _r()


def _handbook() -> Iterator[Case]:
    source = "NIST e-Handbook 1.3.5.17.1"
    for name, printed in (("statistic", "2.468765"), ("critical", "2.031652"), ("value", "245.57"), ("outlier", "1")):
        yield Case("outliers.grubbs", source, printed, partial(_grubbs, "uranium", name, side="high"))
    yield Case("outliers.grubbs", "computed from the printed data", "2.126645", partial(_grubbs, "uranium", "critical"))
    heat = tables.column("zarr13.csv")
    yield Case("outliers.grubbs", "computed from the printed data", "2.918638", lambda: outliers.grubbs(heat).statistic)


def _rosner() -> Iterator[Case]:
    computed = "computed from the printed data"
    for step, (statistic, critical) in enumerate(
        zip(("3.119", "2.943", "3.179", "2.810"), ("3.159", "3.151", "3.144", "3.136"), strict=True)
    ):
        yield Case("outliers.generalized_esd", computed, statistic, partial(_esd, "rosner", 10, "statistics", step))
        yield Case("outliers.generalized_esd", computed, critical, partial(_esd, "rosner", 10, "criticals", step))
    source = "NIST e-Handbook 1.3.5.17.3 (Rosner 1983), from memory"
    yield Case(
        "outliers.generalized_esd",
        source,
        "3",
        lambda: outliers.generalized_esd(_data("rosner"), max_outliers=10).count,
    )
    for step, value in enumerate(("6.01", "5.42", "5.34")):
        yield Case("outliers.generalized_esd", source, value, partial(_flagged, step))


def _r() -> Iterator[Case]:
    _, *body = tables.rows("r_outliers.csv")
    source = "R 4.2.2 pt and qt"
    most = {"rosner": 10, "weak": 4}
    for kind, data, a, b, value in body:
        if kind == "critical":
            call = partial(outliers.grubbs_critical, len(_data(data)), side=a, alpha=float(b))
            yield Case("outliers.grubbs_critical", source, float(value), call, 12.0)
        elif kind in ("statistic", "p_value"):
            yield Case("outliers.grubbs", source, float(value), partial(_grubbs, data, kind, side=a), 11.0)
        elif kind == "robust":
            call = partial(_robust, data, a)
            yield Case("robust.robust_spread", "R 4.2.2 median and mad", float(value), call, 12.0)
        elif kind == "esd count":
            call = partial(_count, data, int(a))
            yield Case("outliers.generalized_esd", source, value, call)
        elif kind.startswith("esd"):
            name = "statistics" if kind == "esd statistic" else "criticals"
            call = partial(_esd, data, most[data], name, int(a) - 1)
            yield Case("outliers.generalized_esd", source, float(value), call, 12.0)


@lru_cache
def _data(name: str) -> tuple[float, ...]:
    return tuple(float(row[-1]) for row in tables.rows("r_outliers.csv") if row[:2] == ["value", name])


def _grubbs(data: str, name: str, *, side: str = "two") -> float:
    return float(getattr(outliers.grubbs(_data(data), side=side), name))


def _esd(data: str, most: int, name: str, step: int) -> float:
    return getattr(outliers.generalized_esd(_data(data), max_outliers=most), name)[step]


def _count(data: str, most: int) -> float:
    return float(outliers.generalized_esd(_data(data), max_outliers=most).count)


def _flagged(step: int) -> float:
    return _data("rosner")[outliers.generalized_esd(_data("rosner"), max_outliers=10).indices[step]]


def _robust(name: str, field: str) -> float:
    return getattr(robust.robust_spread(_data(name)), field)
