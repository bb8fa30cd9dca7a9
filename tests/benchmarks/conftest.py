"""Measures each piece of work beside a baseline in the same run, and prints the ratios at the end."""

import time

import pytest

RATIOS = pytest.StashKey()


def best_times(*works, rounds):
    """The quickest of so many runs of each, taken in turn: what else the machine does then slows both."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for place, work in enumerate(works):
            start = time.perf_counter()
            work()
            best[place] = min(best[place], time.perf_counter() - start)
    return best


@pytest.fixture
def compare(benchmark, request):
    """Records the time of ours over the time of the baseline, beside the aim. Nothing is asserted about time."""

    def measure(ours, baseline, *, aim, rounds=500):
        ours()  # the first run of each pays for what is cached
        baseline()
        benchmark.pedantic(ours, rounds=min(rounds, 50))
        mine, theirs = best_times(ours, baseline, rounds=rounds)
        benchmark.extra_info.update(ratio=mine / theirs, aim=aim)
        name = request.node.name.removeprefix("bench_").replace("_", " ")
        request.config.stash.setdefault(RATIOS, []).append((name, mine, theirs, aim))

    return measure


def pytest_terminal_summary(terminalreporter, config):
    found = config.stash.get(RATIOS, [])
    if found:
        terminalreporter.section("ratio to the baseline")
    for name, mine, theirs, aim in found:
        times = f"{1e3 * mine:.4g} ms and {1e3 * theirs:.4g} ms"
        terminalreporter.line(f"{mine / theirs:10.4g}  (aim {aim})  {name}: {times}")
