"""Interlaboratory studies: ASTM E691's glucose example, its tables of critical values, and R."""

import functools
from collections.abc import Iterator

from labrecords.stats import precision
from tests.reference.case import Case
from tests.reference.tables import rows

DATA_FILE = "computed from the printed data (ASTM E691-99, GLUCOSE.DAT)"
STANDARD = "ASTM E691-99, from memory"
TABLE = "computed from the standard's formula"
KEYED = "computed from the printed data, keying error mended"

H = {3: "1.15", 4: "1.49", 5: "1.74", 6: "1.92", 7: "2.05", 8: "2.15", 9: "2.23", 10: "2.29", 11: "2.34", 12: "2.38"}
H |= {13: "2.41", 14: "2.44", 15: "2.47", 20: "2.56", 25: "2.61", 30: "2.64"}
K = {  # n = 2 to 10
    3: "1.72 1.67 1.61 1.56 1.52 1.49 1.47 1.44 1.42",
    4: "1.95 1.82 1.73 1.66 1.60 1.56 1.53 1.50 1.47",
    5: "2.11 1.92 1.79 1.71 1.65 1.60 1.56 1.53 1.50",
    6: "2.22 1.98 1.84 1.75 1.68 1.63 1.59 1.55 1.52",
    7: "2.30 2.03 1.87 1.77 1.70 1.65 1.60 1.57 1.54",
    8: "2.36 2.06 1.90 1.79 1.72 1.66 1.62 1.58 1.55",
    9: "2.41 2.09 1.92 1.81 1.73 1.67 1.62 1.59 1.56",
    10: "2.45 2.11 1.93 1.82 1.74 1.68 1.63 1.59 1.56",
    11: "2.49 2.13 1.94 1.83 1.75 1.69 1.64 1.60 1.57",
    12: "2.51 2.14 1.96 1.84 1.76 1.69 1.64 1.60 1.57",
    13: "2.54 2.15 1.96 1.84 1.76 1.70 1.65 1.61 1.58",
    14: "2.56 2.16 1.97 1.85 1.77 1.70 1.65 1.61 1.58",
    15: "2.57 2.17 1.98 1.86 1.77 1.71 1.66 1.62 1.58",
    20: "2.63 2.21 2.00 1.87 1.79 1.72 1.67 1.63 1.59",
    25: "2.67 2.23 2.01 1.88 1.79 1.73 1.67 1.63 1.60",
    30: "2.69 2.24 2.02 1.89 1.80 1.73 1.68 1.64 1.60",
}
SUMMARY = {  # mean, s_xbar, s_r, s_R, r, R
    "A": "41.5183 0.6061 1.0632 1.0632 2.98 2.98",
    "B": "79.6796 1.0028 1.4949 1.5796 4.19 4.42",
    "C": "135.1429 2.6559 2.7483 3.4770 7.70 9.74",
    "D": "194.7171 2.5950 2.6251 3.3657 7.35 9.42",
    "E": "294.4921 2.6931 3.9350 4.1923 11.02 11.74",
}
AT_ONE_PER_CENT = "2.26 1.96 1.81 1.72 1.65 1.60 1.55 1.52 1.49"  # k of 8 laboratories, n = 2 to 10
MENDED = "134.7262 1.7397 1.5434 2.1482 4.32 6.015"
FIELDS = ("mean", "s_xbar", "s_r", "s_R", "r_limit", "R_limit")
CELLS = {
    "cell_means": {
        "A": "41.2833 41.4400 41.4500 41.4567 41.4633 42.0200 40.4567 42.5767",
        "B": "78.3167 79.2333 79.9033 81.5333 78.6900 79.8933 79.5200 80.3467",
        "C": "133.1967 135.4067 134.5900 140.8300 133.2667 136.6167 132.4933 134.7433",
        "D": "193.6500 195.1067 192.0900 197.2133 193.0500 197.2433 191.2600 198.1233",
        "E": "293.2533 298.9167 292.6700 295.8200 293.5633 294.9567 290.1367 296.6200",
    },
    "cell_sds": {
        "A": "0.2230 0.4851 1.0608 1.8118 0.3667 1.4081 1.2478 0.8225",
        "B": "0.1582 1.3269 0.8303 2.7604 0.7754 1.6366 2.0605 0.5065",
        "C": "0.5910 2.1680 1.7288 6.6200 1.1987 1.2870 2.1243 0.9774",
        "D": "0.0600 4.6824 1.5932 1.9366 1.8826 1.6496 3.8177 2.4638",
        "E": "0.7267 9.1869 2.7101 0.8836 0.9544 4.0343 3.3042 1.6479",
    },
    "h": {
        "A": "-0.39 -0.13 -0.11 -0.10 -0.09 0.83 -1.75 1.75",
        "B": "-1.36 -0.45 0.22 1.85 -0.99 0.21 -0.16 0.67",
        "C": "-0.73 0.10 -0.21 2.14 -0.71 0.55 -1.00 -0.15",
        "D": "-0.41 0.15 -1.01 0.96 -0.64 0.97 -1.33 1.31",
        "E": "-0.46 1.64 -0.68 0.49 -0.34 0.17 -1.62 0.79",
    },
    "k": {
        "A": "0.21 0.46 1.00 1.70 0.34 1.32 1.17 0.77",
        "B": "0.11 0.89 0.56 1.85 0.52 1.09 1.38 0.34",
        "C": "0.22 0.79 0.63 2.41 0.44 0.47 0.77 0.36",
        "D": "0.02 1.78 0.61 0.74 0.72 0.63 1.45 0.94",
        "E": "0.18 2.33 0.69 0.22 0.24 1.03 0.84 0.42",
    },
}


def every_case() -> Iterator[Case]:
    yield from _critical_values()
    yield from _summaries()
    yield from _cells()
    yield from _cochran()
    yield from _by_r()


def glucose(material: str) -> dict[str, list[float]]:
    """Results of one material, by laboratory."""
    heading, *body = rows("glucose.csv")
    places = [place for place, name in enumerate(heading) if name.startswith(material)]
    return {row[0]: [float(row[place]) for place in places] for row in body}


def mended() -> dict[str, list[float]]:
    """Material C with the keying error of laboratory 4 put right."""
    return glucose("C") | {"4": [138.50, 138.30, 135.69]}


@functools.cache
def _found(material: str) -> precision.Precision:
    return precision.interlaboratory(glucose(material))


def _critical_values() -> Iterator[Case]:
    yield Case("precision.critical_h", STANDARD, "2.15", lambda: precision.critical_h(8))
    yield Case("precision.critical_k", STANDARD, "2.06", lambda: precision.critical_k(8, 3))
    for p, text in H.items():
        yield Case("precision.critical_h", TABLE, text, lambda p=p: precision.critical_h(p))
    for p, texts in K.items():
        for n, text in enumerate(texts.split(), start=2):
            yield Case("precision.critical_k", TABLE, text, lambda p=p, n=n: precision.critical_k(p, n))
    yield Case("precision.critical_h", TABLE, "2.06", lambda: precision.critical_h(8, alpha=0.01))
    for n, text in enumerate(AT_ONE_PER_CENT.split(), start=2):
        yield Case("precision.critical_k", TABLE, text, lambda n=n: precision.critical_k(8, n, alpha=0.01))


def _summaries() -> Iterator[Case]:
    for material, texts in SUMMARY.items():
        source = f"{STANDARD}" if material != "C" else DATA_FILE
        for field, text in zip(FIELDS, texts.split(), strict=True):
            get = lambda material=material, field=field: getattr(_found(material), field)  # noqa: E731 - asked later
            yield Case("precision.interlaboratory", source, text, get)
    found = functools.cache(lambda: precision.interlaboratory(mended()))
    for field, text in zip(FIELDS, MENDED.split(), strict=True):
        yield Case("precision.interlaboratory", KEYED, text, lambda field=field: getattr(found(), field))


def _cells() -> Iterator[Case]:
    for field, materials in CELLS.items():
        for material, texts in materials.items():
            for place, text in enumerate(texts.split()):
                get = lambda field=field, material=material, place=place: (  # noqa: E731 - asked later
                    getattr(_found(material), field)[place]
                )
                yield Case("precision.interlaboratory", DATA_FILE, text, get)


def _cochran() -> Iterator[Case]:
    sds = functools.cache(lambda: precision.cochran(_found("C").cell_sds, n=3))
    yield Case("precision.cochran", DATA_FILE, "0.7253", lambda: sds().statistic)
    yield Case("precision.cochran", DATA_FILE, "0.516", lambda: sds().critical)
    yield Case("precision.critical_cochran", TABLE, "0.615", lambda: precision.critical_cochran(8, 3, alpha=0.01))


def _by_r() -> Iterator[Case]:
    for which, p, n, alpha, value in rows("r_precision.csv")[1:]:
        arguments = (int(p),) if which == "h" else (int(p), int(n))
        function = f"critical_{which}"
        get = lambda function=function, arguments=arguments, alpha=float(alpha): (  # noqa: E731 - asked later
            getattr(precision, function)(*arguments, alpha=alpha)
        )
        yield Case(f"precision.{function}", "R 4.2.2 qt, qf", float(value), get, 10.0)
