"""A crossed gauge study by averages and ranges, as it is done by hand: a check on the analysis of variance."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from labrecords.stats.chart_constants import constants
from labrecords.stats.checked import Floats
from labrecords.stats.gauge_table import COLUMNS, layout


@dataclass(frozen=True)
class AverageAndRange:
    """What ranges say of a crossed gauge study, all in the unit of the values but the percentages.

    Attributes
    ----------
    repeatability_sd, operator_sd, grr_sd, part_sd, total_sd : float
        Standard deviations of equipment, operators, both, parts, and all.
    percent_study : dict of str to float
        Share of each in ``total_sd``, per cent; they do not add up to 100.
    distinct_categories : int
        1.41 part_sd / grr_sd, cut to a whole number; 0 where it is below 1.
    operator_ranges : dict of str to float
        Mean range of each operator's repeated values.
    range_limit : float
        Ranges above it are out of control at three sigma.
    method : str
        "average and range", to be printed beside the numbers: other methods give others.
    """

    repeatability_sd: float
    operator_sd: float
    grr_sd: float
    part_sd: float
    total_sd: float
    percent_study: dict[str, float]
    distinct_categories: int
    operator_ranges: dict[str, float]
    range_limit: float
    method: str = "average and range"


def average_and_range(table: pd.DataFrame) -> AverageAndRange:
    """Return the spreads of a balanced crossed gauge study from its averages and ranges.

    Parameters
    ----------
    table : DataFrame
        Columns part, operator, value; every operator has every part equally often, at least twice.

    Raises
    ------
    ValueError
        As `crossed_gauge`; or if the study is not balanced, there is one part only, or all repeats agree.

    Notes
    -----
    Ranges know nothing of an interaction, and of destructive tests they speak only where the strips of a part may be
    taken as alike. The analysis of variance may legitimately count other distinct categories: print the method.

    References
    ----------
    .. [1] AIAG, Measurement Systems Analysis, 4th ed., average and range method.
    .. [2] Duncan (1974), Quality Control and Industrial Statistics, table D3 (d2 of few ranges), from memory.

    Examples
    --------
    >>> values = [2.0, 2.2, 5.0, 5.1, 2.1, 2.4, 5.3, 5.2]
    >>> table = pd.DataFrame({"part": list("aabbaabb"), "operator": list("xxxxyyyy"), "value": values})
    >>> found = average_and_range(table)
    >>> round(found.repeatability_sd, 4), round(found.part_sd, 3), found.distinct_categories
    (0.1551, 2.104, 16)
    """
    cells = _cells(table)
    count = cells.shape[2]
    ranges, means = np.ptp(cells, axis=2), cells.mean(axis=2)
    if not ranges.any():
        raise ValueError("table must hold repeats that differ somewhere; got equal values in every cell.")
    repeatability = float(ranges.mean()) / constants(count).d2
    operator = _operator_sd(means, repeatability, count)
    grr = math.hypot(repeatability, operator)
    part = float(np.ptp(means.mean(axis=0))) / _d2_of_one(means.shape[1])
    total = math.hypot(grr, part)
    shares = {"repeatability": repeatability, "operator": operator, "grr": grr, "part": part}
    names = pd.unique(table["operator"])
    return AverageAndRange(
        repeatability_sd=repeatability,
        operator_sd=operator,
        grr_sd=grr,
        part_sd=part,
        total_sd=total,
        percent_study={name: 100 * sd / total for name, sd in shares.items()},
        distinct_categories=int(1.41 * part / grr),
        operator_ranges={str(name): float(mean) for name, mean in zip(names, ranges.mean(axis=1), strict=True)},
        range_limit=float(ranges.mean()) * constants(count).D4,
    )


def _cells(table: pd.DataFrame) -> Floats:
    """Values by operator, part and repeat, in the order in which labels first come."""
    found = layout(table)
    if not found.balanced_crossed or found.parts < 2:
        raise ValueError("table must hold every part equally often for every operator, and at least 2 parts.")
    part, operator, value = COLUMNS
    labels = [pd.factorize(table[name])[0] for name in (operator, part)]
    order = np.lexsort(labels[::-1])
    values = table[value].to_numpy(dtype=float)[order]
    shaped: Floats = values.reshape(found.operators, found.parts, -1)
    return shaped


def _operator_sd(means: Floats, repeatability: float, count: int) -> float:
    """Spread of the operators' averages, less what repeatability puts into each; 0 where that is more."""
    between = float(np.ptp(means.mean(axis=1))) / _d2_of_one(means.shape[0])
    return math.sqrt(max(0.0, between**2 - repeatability**2 / (means.shape[1] * count)))


def _d2_of_one(n: int) -> float:
    """The d2 for a single range of ``n``: the root of its mean square, over the true standard deviation."""
    found = constants(n)
    return math.hypot(found.d2, found.d3)
