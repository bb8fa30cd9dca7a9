"""What the statistics cost beside bare numpy, scipy and pandas, as ratios.

Run `.venv/bin/pytest tests/benchmarks/bench_stats.py` on a quiet machine; `--benchmark-json=FILE` keeps the ratios.
A new piece of work is one more function that calls `compare(ours, baseline, aim=...)`.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import special, stats

from labrecords.stats import components, factors, summary, traces

ROOT = Path(__file__).parents[2]
FILES, READINGS = 1000, 1000


def peel(readings, seed=0):
    """A peel with ripple and noise: travel and force."""
    travel = np.linspace(0, 20, readings)
    level = np.interp(travel, [0, 1, 4, 16, 20], [0, 0, 4, 4, 0])
    noise = np.random.default_rng(seed).normal(0, 0.01, readings)
    return travel, level * (1 + 0.1 * np.sin(np.pi * travel)) + noise


# --- Traces


def bench_reducing_a_trace_of_5000_readings_against_argmax_and_trapezoid(compare):
    travel, force = peel(5000)

    def bare():
        return force.argmax(), np.trapezoid(force, travel)

    compare(lambda: traces.reduce_trace(travel, force), bare, aim="under 4", rounds=3000)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """A thousand trace files."""
    folder = tmp_path_factory.mktemp("traces")
    for number in range(FILES):
        travel, force = peel(READINGS, seed=number)
        table = np.column_stack((travel, force))
        np.savetxt(folder / f"{number}.csv", table, fmt="%.4f", delimiter=",", header="travel,force", comments="")
    return sorted(folder.iterdir())


@pytest.fixture(scope="module")
def read(files):
    return [tuple(pd.read_csv(file)[column].to_numpy() for column in ("travel", "force")) for file in files]


def bench_reducing_1000_traces_against_reading_them_with_pandas(compare, files, read):
    def reduce():
        return [traces.reduce_trace(travel, force) for travel, force in read]

    compare(reduce, lambda: [pd.read_csv(file) for file in files], aim="under 1", rounds=5)


def bench_cleaning_and_reducing_1000_traces_against_reading_them_with_pandas(compare, files, read):
    def clean_and_reduce():
        cleaned = [traces.clean_trace(travel, force) for travel, force in read]
        return [traces.reduce_trace(trace.displacement_mm, trace.force_n) for trace in cleaned]

    compare(clean_and_reduce, lambda: [pd.read_csv(file) for file in files], aim="under 1", rounds=5)


# --- Summaries


def bench_summarising_100000_values_against_bare_numpy(compare):
    values = np.random.default_rng(1).normal(5, 1, 100_000)

    def bare():  # the same numbers by the plain calls
        n, mean, sd = values.size, values.mean(), values.std(ddof=1)
        quartiles = np.quantile(values, [0.25, 0.5, 0.75])
        deviation = (values - mean) / sd
        squares = deviation * deviation
        half = special.stdtrit(n - 1, 0.975) * sd / np.sqrt(n)
        return (
            values.min(),
            values.max(),
            quartiles,
            np.median(np.abs(values - quartiles[1])),
            (squares * deviation).mean(),
            (squares * squares).mean(),
            (mean - half, mean + half),
            sd * np.sqrt((n - 1) / special.chdtri(n - 1, [0.025, 0.975])),
        )

    compare(lambda: summary.summarise(values), bare, aim="under 3", rounds=50)


# --- Tolerance factors


def bench_a_new_one_sided_factor_against_one_quantile_by_scipy(compare):
    def bare():
        return stats.nct.ppf(0.95, 29, special.ndtri(0.95) * np.sqrt(30)) / np.sqrt(30)

    compare(lambda: factors.one_sided.__wrapped__(30, 29.0, 0.95, 0.95), bare, aim="near 1", rounds=300)


def bench_a_new_two_sided_factor_against_one_quantile_by_scipy(compare):
    def bare():
        return stats.nct.ppf(0.95, 29, special.ndtri(0.95) * np.sqrt(30)) / np.sqrt(30)

    compare(lambda: factors.two_sided.__wrapped__(30, 0.95, 0.95), bare, aim="none", rounds=300)


def bench_a_remembered_one_sided_factor_against_a_new_one(compare):
    def new():
        return factors.one_sided.__wrapped__(30, 29.0, 0.95, 0.95)

    compare(lambda: factors.one_sided(30, 29.0, 0.95, 0.95), new, aim="under 0.01", rounds=300)


def bench_a_remembered_two_sided_factor_against_a_new_one(compare):
    def new():
        return factors.two_sided.__wrapped__(30, 0.95, 0.95)

    compare(lambda: factors.two_sided(30, 0.95, 0.95), new, aim="under 0.01", rounds=300)


# --- Gauge studies


def bench_nested_gauge_against_the_bare_sums(compare):
    generator = np.random.default_rng(20)
    rows = 5000
    table = pd.DataFrame(
        {
            "operator": np.repeat([f"T{number}" for number in range(5)], rows // 5),
            "part": np.repeat([f"P{number}" for number in range(500)], rows // 500),
            "value": generator.normal(2.0, 0.1, rows),
        }
    )

    def bare():
        operator, part = (pd.factorize(table[name])[0] for name in ("operator", "part"))
        value = table["value"].to_numpy()
        centred = value - value.mean()
        cells = np.bincount(part, centred) ** 2 / np.bincount(part)
        groups = np.bincount(operator, centred) ** 2 / np.bincount(operator)
        return (centred * centred).sum() - cells.sum(), cells.sum() - groups.sum(), groups.sum()

    compare(lambda: components.nested_gauge(table), bare, aim="under 2", rounds=50)


# --- Importing

EVERY_MODULE = """
import importlib, pkgutil, labrecords.stats as package
for found in pkgutil.iter_modules(package.__path__):
    importlib.import_module(f"{package.__name__}.{found.name}")
"""


def bench_importing_every_module_against_importing_scipy_stats_and_pandas(compare):
    def fresh(code):
        subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)

    compare(lambda: fresh(EVERY_MODULE), lambda: fresh("import scipy.stats, pandas"), aim="under 1.5", rounds=5)
