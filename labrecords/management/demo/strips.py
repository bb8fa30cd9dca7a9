"""What each strip of a demo study gives when it is pulled: made from the study's seed, the same every time."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from labrecords.stats import units

from .inputs import of_strip
from .peel import PeelTrace, as_text, peel_trace

# Grip travel while the seal opens, in widths of the seal: about twice when the tail is laid back over a plate.
# common practice, no source
TRAVEL = {"A": 1.15, "B": 1.15, "C": 2.1}
COHESIVE_SHARE = 0.15


@dataclass(frozen=True)
class Strip:
    """How a strip comes apart: its mean force, the seed of its trace, and what the technician sees."""

    mean_force_n: float
    seed: int
    kind: str  # "peel", "tear", "slip" or "opened"
    modes: tuple[str, ...]
    remark: str


def strip(script: dict[str, Any], *, lot: str, number: int, group: int) -> Strip:
    """The strip with this number of a lot; `group` counts the plan's groups from 1."""
    lots = [row["name"] for row in script["lot"]]
    rng = np.random.default_rng([script["seed"], lots.index(lot), number])
    planned, setup = script["group"][group - 1], script["setup"]
    strength = rng.normal(float(planned["mean"]), float(planned["spread"]))
    seen = of_strip(script, lot, number)
    kind = seen.get("kind", "peel")
    usual = ("CO",) if rng.uniform() < COHESIVE_SHARE else ("AP",)
    return Strip(
        mean_force_n=strength / units.strength(1.0, float(setup["width_mm"]), setup["unit"]),
        seed=int(rng.integers(2**32)),
        kind=kind,
        modes=() if kind == "opened" else tuple(seen.get("modes", usual)),
        remark=seen.get("remark", ""),
    )


def trace(strip: Strip, setup: dict[str, Any], *, capacity_n: float, rate: Any = None) -> PeelTrace:
    """The pull of a strip on a cell of this capacity, at the set-up's rate unless another is named."""
    return peel_trace(
        seed=strip.seed,
        mean_force_n=strip.mean_force_n,
        peel_travel_mm=TRAVEL[setup["technique"]] * float(setup["seal_width_mm"]),
        cell_capacity_n=capacity_n,
        rate_mm_min=units.convert(float(rate or setup["rate"]), setup["rate_unit"], "mm/min"),
        sampling_hz=float(setup["sampling_hz"]),
        kind=strip.kind,
    )


def file_text(traces: list[PeelTrace], setup: dict[str, Any], *, codes: list[str], rate: Any = None, **written) -> str:
    """The file a tester writes of these pulls; `written` is the tester's own layout and unit."""
    return as_text(
        traces,
        codes=codes,
        rate=f"{_plain(rate or setup['rate'])} {setup['rate_unit']}",
        technique=setup["technique"],
        width=f"{_plain(setup['width_mm'])} mm",
        **written,
    )


def _plain(value: Any) -> str:
    return f"{value.normalize():f}"
