"""What the engineer's analyses of 2,000 results cost beside the bare numpy and scipy calls for the same answers.

Run `.venv/bin/pytest -c pyproject.toml -o python_files=bench_*.py -o python_functions=bench_* -s
tests/benchmarks/bench_analyses.py` on a quiet machine. The results go through the gate, which takes some minutes.
"""

import numpy as np
from django.db import connection
from django.test.utils import CaptureQueriesContext
from scipy import stats

from labrecords.queries import changes, precision, validations, windows
from tests import loaded
from tests.benchmarks.conftest import best_times
from tests.pages import test_precision
from tests.validations import cast as validation
from tests.windows import cast

PERMUTATIONS = 1999
ROUNDS = 3


def report(name, ours, bare):
    """Prints the queries of one reading and the ratio; nothing is asserted about time."""
    with CaptureQueriesContext(connection) as caught:
        ours()
    bare()
    mine, theirs = best_times(ours, bare, rounds=ROUNDS)
    share = sum(float(query["time"]) for query in caught)
    told = f"{len(caught)} queries, {mine:.3f} s, of it {share:.3f} s in the database"
    print(f"\n{name}: {told}; {mine / theirs:.1f} times the bare calls")


def bench_a_window_and_what_changed(laboratory):
    rng = np.random.default_rng(3)
    groups = {lot: [f"{value:.2f}" for value in rng.normal(mean, 0.06, 667)] for lot, mean in MEANS.items()}
    study = cast.made(laboratory, groups, setup={"expected_weak_n": 2.0})
    arrays = [np.array(row, float) for row in groups.values()]
    x = np.repeat([118.0, 124.0, 130.0], 667)
    report("process window", lambda: windows.read(study), lambda: window_bare(arrays, x))
    rows = changes.rows([study])
    whole = np.array([row.value for row in rows])
    report("what changed", lambda: changes.found_by_shift(changes.rows([study])), lambda: changes_bare(whole, arrays))


MEANS = {"low": 1.4, "nominal": 1.55, "high": 1.7}


def window_bare(arrays, x):
    for values in arrays:
        values.mean(), values.std(ddof=1)
        stats.shapiro(values)
        stats.nct.ppf(0.95, values.size - 1, stats.norm.ppf(0.95) * values.size**0.5)
    stats.f_oneway(*arrays)
    stats.levene(*arrays, center="median")
    stats.dunnett(arrays[0], arrays[2], control=arrays[1])
    np.polyfit(x, np.concatenate(arrays), 2)


def changes_bare(whole, arrays):
    stats.ttest_ind(whole[:700], whole[700:], equal_var=False)
    for _ in range(8):  # a grouping for each factor that has two levels or more, about
        stats.f_oneway(*arrays)
    rng = np.random.default_rng(1)
    for _ in range(PERMUTATIONS // 100):
        np.cumsum(rng.permuted(np.tile(whole, (100, 1)), axis=1), axis=1)


def bench_precision(laboratory):
    rng = np.random.default_rng(4)
    values = {
        (f"L{place}", f"Technician {name}"): [f"{v:.1f}" for v in rng.normal(150 + 10 * place, 4, 100)]
        for place in range(5)
        for name in "ABCD"
    }
    study = test_precision.study_of(laboratory, values)
    arrays = {key: np.array(row, float) for key, row in values.items()}

    def bare():
        for place in range(5):
            cells = [arrays[key] for key in arrays if key[0] == f"L{place}"]
            stats.f_oneway(*cells)
            [cell.var(ddof=1) for cell in cells]

    report("precision", lambda: precision.read(study), bare)


def bench_validation(laboratory):
    rng = np.random.default_rng(5)
    who = validation.technicians(laboratory)
    groups = [cast.group(f"L{place}", 125, specimens_per_pack=4) for place in range(4)]
    study = validation.planned(laboratory, who, groups=groups)
    validation.drawn(laboratory, study)
    validation.pulled(laboratory, study, typed=lambda place: f"{rng.normal(1.5, 0.05):.2f}")
    study = loaded.accepted(laboratory, study)
    arrays = [rng.normal(1.5, 0.05, (4, 125)) for _ in range(4)]

    def bare():
        for table in arrays:
            for place in range(4):
                stats.ttest_rel(table[place], np.delete(table, place, axis=0).mean(axis=0)).confidence_interval(0.90)
            stats.f_oneway(*table)

    report("validation", lambda: validations.read(study), bare)
