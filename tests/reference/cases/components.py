"""Gauge studies and variance components: printed examples, NIST's certified values, and R."""

import functools
from collections.abc import Iterator
from importlib import resources

import numpy as np
import pandas as pd

from labrecords.stats import components, reml
from labrecords.stats.average_range import average_and_range
from labrecords.stats.gauge_table import layout
from tests.reference.case import Case
from tests.reference.tables import rows

MANUAL = "AIAG MSA manual, 4th ed."
TEXTBOOK = "published nested example"
HANDBOOK = "NIST e-Handbook 3.2.3.3"
PRINTED = "computed from the printed data"
R_TABLE = "R 4.2.2 lm, pf"
R_FIT = "R 4.2.2 lme4 1.1.31"
R_TERMS = {"part": "part", "operator": "operator", "operator:part": "interaction", "Residual": "repeatability"}
R_NESTED = {"operator": "operator", "operator:part": "part", "Residual": "repeatability"}


def every_case() -> Iterator[Case]:
    yield from _manual()
    yield from _average_and_range()
    yield from _nested_examples()
    yield from _certified()
    yield from _tables_by_r()
    yield from _fits_by_r()


def study(name: str) -> pd.DataFrame:
    """One study of gauge_studies.csv."""
    table = _studies()
    return table[table["study"] == name]


@functools.cache
def _studies() -> pd.DataFrame:
    heading, *body = rows("gauge_studies.csv")
    return pd.DataFrame(body, columns=heading).astype({"value": float})


@functools.cache
def _crossed(name: str, method: str = "auto") -> components.CrossedGauge:
    return components.crossed_gauge(study(name), method=method)


@functools.cache
def _nested(name: str, method: str = "auto") -> components.NestedGauge:
    return components.nested_gauge(study(name), method=method)


def _found(function: str, source: str, expected: str | float, get, digits: float = 9.0) -> Case:
    return Case(f"components.{function}", source, expected, get, digits)


def _manual() -> Iterator[Case]:
    """The manual's example of 10 parts and 3 appraisers, and what follows from its data."""
    for source, text in {"operator": "3.1673", "part": "88.3619", "interaction": "0.3590"}.items():
        yield _found("crossed_gauge", MANUAL, text, lambda source=source: _crossed("aiag").ss[source])
    yield _found("crossed_gauge", MANUAL, "2.7589", lambda: _crossed("aiag").ss["repeatability"])
    yield _found("crossed_gauge", MANUAL, "94.6471", lambda: _crossed("aiag").ss["total"])
    sds = {"repeatability": "0.199933", "operator": "0.226838", "part": "1.042327"}
    for name, text in sds.items():
        get = lambda name=name: np.sqrt(getattr(_crossed("aiag").pooled, name))  # noqa: E731 - asked later
        yield _found("crossed_gauge", f"{MANUAL}, from memory", text, get)
    yield _found("crossed_gauge", f"{MANUAL}, from memory", "1.085", lambda: _crossed("aiag").pooled.total_sd)
    yield from _manual_follows()


def _manual_follows() -> Iterator[Case]:
    full = {
        "F part": ("492.291", lambda g: g.F["part"]),
        "F operator": ("79.406", lambda g: g.F["operator"]),
        "F interaction": ("0.4337", lambda g: g.F["interaction"]),
        "p part": ("1.2e-19", lambda g: g.p["part"]),
        "p operator": ("1.2e-9", lambda g: g.p["operator"]),
        "p interaction": ("0.974", lambda g: g.p["interaction"]),
        "ms operator": ("1.583631", lambda g: g.ms["operator"]),
        "ms part": ("9.817993", lambda g: g.ms["part"]),
        "ms interaction": ("0.019943", lambda g: g.ms["interaction"]),
        "repeatability": ("0.045982", lambda g: g.repeatability),
        "operator": ("0.052123", lambda g: g.operator),
        "interaction": ("0", lambda g: g.interaction),
        "raw interaction": ("-0.008680", lambda g: g.raw["interaction"]),
        "grr": ("0.098105", lambda g: g.grr),
        "part": ("1.088672", lambda g: g.part),
        "total": ("1.186777", lambda g: g.total),
        "grr sd": ("0.313217", lambda g: g.grr_sd),
        "part sd": ("1.043395", lambda g: g.part_sd),
        "total sd": ("1.089393", lambda g: g.total_sd),
        "percent": ("28.75", lambda g: g.percent_study),
        "percent repeatability": ("19.68", lambda g: g.percents_study["repeatability"]),
        "percent operator": ("20.96", lambda g: g.percents_study["operator"]),
        "percent part": ("95.78", lambda g: g.percents_study["part"]),
        "categories": ("4", lambda g: g.distinct_categories),
        "pooled repeatability": ("0.0399733", lambda g: g.pooled.repeatability),
        "pooled operator": ("0.051455", lambda g: g.pooled.operator),
        "pooled part": ("1.086447", lambda g: g.pooled.part),
        "pooled grr": ("0.091429", lambda g: g.pooled.grr),
        "pooled total": ("1.177875", lambda g: g.pooled.total),
        "pooled grr sd": ("0.302372", lambda g: g.pooled.grr_sd),
        "pooled percent": ("27.86", lambda g: g.pooled.percent_study),
        "pooled share": ("7.76", lambda g: g.pooled.percents_contribution["grr"]),
        "pooled share part": ("92.24", lambda g: g.pooled.percents_contribution["part"]),
        "pooled categories": ("4", lambda g: g.pooled.distinct_categories),
    }
    for text, get in full.values():
        yield _found("crossed_gauge", PRINTED, text, lambda get=get: get(_crossed("aiag")))


def _nested_examples() -> Iterator[Case]:
    """Spindles in machines, and operators in machines: the outer factor is called operator here."""
    spindles = {
        ("ss", "operator"): "55.75",
        ("ss", "part"): "43.75",
        ("ss", "repeatability"): "26.50",
        ("ms", "operator"): "27.8750",
        ("ms", "part"): "14.5833",
        ("ms", "repeatability"): "1.4722",
        ("F", "operator"): "1.9114",
        ("F", "part"): "9.9057",
        ("p", "operator"): "0.2916",
        ("p", "part"): "0.000443",
    }
    for (column, source), text in spindles.items():
        get = lambda column=column, source=source: getattr(_nested("spindles"), column)[source]  # noqa: E731 - asked later
        yield _found("nested_gauge", TEXTBOOK, text, get)
    for name, text in {"repeatability": "1.4722", "part": "3.2778", "operator": "1.6615"}.items():
        yield _found("nested_gauge", PRINTED, text, lambda name=name: _nested("spindles").raw[name])
    yield _found("nested_gauge", f"{HANDBOOK}, from memory", "20.38", lambda: _nested("handbook").F["operator"])
    handbook = {
        ("ss", "operator"): "0.00030332",
        ("ss", "part"): "0.0000186",
        ("ss", "repeatability"): "0.000346",
        ("F", "part"): "0.4301",
        ("p", "part"): "0.825",
        ("p", "operator"): "0.0027",
        ("raw", "operator"): "7.211e-6",
        ("raw", "part"): "-9.86e-7",
        ("raw", "repeatability"): "8.650e-6",
    }
    for (column, source), text in handbook.items():
        get = lambda column=column, source=source: getattr(_nested("handbook"), column)[source]  # noqa: E731 - asked later
        yield _found("nested_gauge", PRINTED, text, get)
    for column, text in {"ss": "0.000137", "F": "5.206", "p": "0.0049"}.items():
        get = lambda column=column: getattr(_first_half(), column)["between"]  # noqa: E731 - asked later
        yield _found("one_way_components", PRINTED, text, get)


def _first_half() -> components.OneWayComponents:
    table = study("handbook")
    return components.one_way_components(
        {name: group["value"] for name, group in table[table["part"] == "a"].groupby("operator")}
    )


def _certified() -> Iterator[Case]:
    """NIST's certified one-way analyses. Doubles hold the data of SmLs04 to 09 to fewer digits than F needs."""
    digits = {f"SmLs0{n}": 12.0 for n in (1, 2, 3)}
    digits |= {"SmLs04": 9.0, "SmLs05": 9.0, "SmLs06": 9.0, "SmLs07": 3.0, "SmLs08": 3.0, "SmLs09": 3.0}
    for name, held in (digits | {"SiRstv": 12.0, "AtmWtAg": 9.0}).items():
        certified, groups = _strd(name)
        found = functools.cache(lambda groups=groups: components.one_way_components(groups))
        get = {
            "F": lambda found=found: found().F["between"],
            "between": lambda found=found: found().ss["between"],
            "within": lambda found=found: found().ss["within"],
            "sd": lambda found=found: found().within_sd,
        }
        for field, expected in certified.items():
            yield _found("one_way_components", f"NIST StRD {name}, in scipy", expected, get[field], held)


def _strd(name: str) -> tuple[dict[str, float], list[list[float]]]:
    path = resources.files("scipy") / "stats" / "tests" / "data" / "nist_anova" / f"{name}.dat"
    lines = path.read_text(encoding="utf-8").splitlines()
    words = [line.split() for line in lines[40:60]]
    between = next(line for line in words if line[:1] == ["Between"])
    within = next(line for line in words if line[:1] == ["Within"])
    sd = next(line for line in words if line[:2] == ["Standard", "Deviation"])
    certified = {
        "F": float(between[-1]),
        "between": float(between[-3]),
        "within": float(within[-2]),
        "sd": float(sd[-1]),
    }
    groups: dict[str, list[float]] = {}
    for line in lines[60:]:
        group, value = line.split()
        groups.setdefault(group, []).append(float(value))
    return certified, list(groups.values())


def _tables_by_r() -> Iterator[Case]:
    for name, value in _by_r("table"):
        place, source, *column = name.split("/")
        if place == "one_way":
            yield _one_way_by_r(source, column, value)
        else:
            function = "nested_gauge" if _is_nested(place) else "crossed_gauge"
            found = _nested if _is_nested(place) else _crossed
            get = lambda found=found, place=place, source=source, column=column: (  # noqa: E731 - asked later
                getattr(found(place), column[0])[source]
            )
            yield _found(function, R_TABLE, value, get)


def _one_way_by_r(source: str, column: list[str], value: float) -> Case:
    get = {
        "n0": lambda found: found.n0,
        "between": lambda found: getattr(found, column[0])[source] if column else found.between,
        "within": lambda found: getattr(found, column[0])[source],
        "within_low": lambda found: found.intervals["within"].low,
        "within_high": lambda found: found.intervals["within"].high,
    }[source]
    return _found("one_way_components", R_TABLE, value, lambda: get(_lots()))


@functools.cache
def _lots() -> components.OneWayComponents:
    table = study("lots")
    return components.one_way_components([group["value"] for _, group in table.groupby(["operator", "part"])])


def _fits_by_r() -> Iterator[Case]:
    """lme4's search stops at about seven digits of a variance; at the boundary it gives 1e-16 or so for 0."""
    for name, value in _by_r("reml"):
        place, model, term = name.split("/")
        if term == "deviance":
            yield Case("reml.fit", R_FIT, value, lambda place=place, model=model: _deviance(place, model))
        elif model == "nested":
            get = lambda place=place, term=term: _nested(place, "reml").raw[R_NESTED[term]]  # noqa: E731 - asked later
            yield _found("nested_gauge", R_FIT, _zeroed(value), get, 6.0)
        else:
            get = lambda place=place, model=model, term=term: _model(place, model).raw[R_TERMS[term]]  # noqa: E731 - asked later
            yield _found("crossed_gauge", R_FIT, _zeroed(value), get, 6.0)


def _model(place: str, model: str) -> components.GaugeComponents:
    found = _crossed(place, "reml")
    return found if model == "full" else found.pooled


def _deviance(place: str, model: str) -> float:
    data = layout(study(place))
    cells = data.nested_cells()[0] if model == "nested" else data.crossed_cells()[0]
    terms = {"nested": ("cell", "outer"), "full": ("cell", "outer", "inner"), "pooled": ("outer", "inner")}
    return reml.fit(cells, terms=terms[model]).deviance


def _by_r(kind: str) -> list[tuple[str, float]]:
    return [
        (name.removeprefix(f"{kind}/"), float(value))
        for name, value in rows("r_components.csv")[1:]
        if name.startswith(f"{kind}/")
    ]


def _zeroed(value: float) -> float:
    return 0.0 if value < 1e-10 else value


def _is_nested(name: str) -> bool:
    return name in ("spindles", "spindles_missing", "handbook", "lots")


def _average_and_range() -> Iterator[Case]:
    """The manual's other method, on the same data: its mean ranges exactly, the rest as far as its constants go."""
    for name, text in {"A": "0.184", "B": "0.513", "C": "0.328"}.items():
        yield _by_ranges(text, lambda g, name=name: g.operator_ranges[name])
    yield _by_ranges("5", lambda g: g.distinct_categories)
    rounded = {  # the manual's constants have four digits
        0.20186: lambda g: g.repeatability_sd,
        0.22967: lambda g: g.operator_sd,
        0.30577: lambda g: g.grr_sd,
        1.10460: lambda g: g.part_sd,
        1.14613: lambda g: g.total_sd,
        17.61: lambda g: g.percent_study["repeatability"],
        20.04: lambda g: g.percent_study["operator"],
        26.68: lambda g: g.percent_study["grr"],
        96.38: lambda g: g.percent_study["part"],
        0.8794: lambda g: g.range_limit,
    }
    for value, get in rounded.items():
        yield _by_ranges(value, get, 3.5)


def _by_ranges(expected: str | float, get, digits: float = 9.0) -> Case:
    name = "average_range.average_and_range"
    return Case(name, PRINTED, expected, lambda: get(average_and_range(study("aiag"))), digits)
