"""Force traces of a demo laboratory: what a seal looks like when it is pulled apart, made from a seed.

The shape follows the trade's description of a peel: slack, steep ramp, first peak, plateau with stick-slip
ripple, peak at the end of the seal, drop (common practice, no source). The numbers behind it are invented.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from labrecords.stats import units

Floats = NDArray[np.float64]
Kind = Literal["peel", "tear", "slip"]
LayoutName = Literal["comma", "semicolon", "side-by-side"]

SLACK_MM = 2.5  # grip travel before the strip is taut: long enough for the noise of the idle cell to be seen
REST_MM = 1.0  # grip travel recorded after the seal is open
NOISE_OF_CAPACITY = 3e-4  # standard deviation of a reading as a share of the cell's capacity
RIPPLE = 0.03  # half height of the stick-slip saw-tooth as a share of the mean force
RIPPLE_MM = 0.6
TEAR_SHARE = 0.25  # of the peel's travel after which a web that tears has torn


@dataclass(frozen=True, eq=False)
class PeelTrace:
    """Readings of one pull, equally long, in the order of acquisition."""

    time_s: Floats
    displacement_mm: Floats
    force_n: Floats


def peel_trace(
    *,
    seed: int,
    mean_force_n: float,
    peel_travel_mm: float,
    cell_capacity_n: float,
    rate_mm_min: float,
    sampling_hz: float,
    kind: Kind = "peel",
) -> PeelTrace:
    """One pull at a constant rate.

    mean_force_n : average of the plateau, for a tear its peak, newton; peel_travel_mm : grip travel from taut
    to open; cell_capacity_n : the noise grows with it; kind : "peel", "tear" (one peak and a sudden drop) or
    "slip" (a peel with sudden small drops in the grips). The same seed gives the same trace.
    """
    rng = np.random.default_rng(seed)
    shape = {"peel": _peel, "tear": _tear, "slip": _slip}[kind]
    length = SLACK_MM + peel_travel_mm * (TEAR_SHARE if kind == "tear" else 1) + REST_MM
    time = np.arange(round(length / (rate_mm_min / 60) * sampling_hz) + 1) / sampling_hz
    travel = time * rate_mm_min / 60
    force = mean_force_n * shape((travel - SLACK_MM) / peel_travel_mm, peel_travel_mm, rng)
    noise = rng.normal(0.0, NOISE_OF_CAPACITY * cell_capacity_n, time.size)
    return PeelTrace(time, np.round(travel, 4), force + noise)


def _peel(place: Floats, travel_mm: float, rng: np.random.Generator) -> Floats:
    """Force as a share of its mean at each place, 0 taut to 1 open."""
    outline_at = [0.0, 0.04, 0.09, 0.91, 0.96, 0.99]
    first, end = rng.uniform(1.08, 1.25), rng.uniform(1.02, 1.15)
    outline = np.interp(place, outline_at, [0.0, first, 1.0, 1.0, end, 0.0], left=0.0, right=0.0)
    return outline * (1 + _ripple(place, travel_mm, rng) + _waves(place, rng))


def _tear(place: Floats, _travel_mm: float, rng: np.random.Generator) -> Floats:
    """A ramp that bends over, one peak, and nothing after it."""
    broken_at = TEAR_SHARE * rng.uniform(0.85, 0.95)
    ramp = np.clip(place / broken_at, 0.0, None)
    return np.where(ramp < 1, ramp ** rng.uniform(0.8, 1.0), 0.0)


def _slip(place: Floats, travel_mm: float, rng: np.random.Generator) -> Floats:
    """A peel in which the strip slips through the grips a few times."""
    share = _peel(place, travel_mm, rng)
    for at in rng.uniform(0.2, 0.8, 3):
        since = np.clip((place - at) / 0.03, 0.0, 1.0)
        share *= np.where(place > at, 0.5 + 0.5 * since, 1.0)
    return share


def _ripple(place: Floats, travel_mm: float, rng: np.random.Generator) -> Floats:
    """Stick-slip: a slow rise and a quick fall, about zero."""
    phase = place * travel_mm / RIPPLE_MM + rng.uniform()
    tooth = phase % 1.0
    return RIPPLE * (2 * np.where(tooth < 0.8, tooth / 0.8, (1 - tooth) / 0.2) - 1)


def _waves(place: Floats, rng: np.random.Generator) -> Floats:
    """Slow unevenness of the seal: whole waves over the plateau's middle, so that its mean stays."""
    middle = (place - 0.1) / 0.8
    waves = [rng.normal(0.0, 0.015) * np.sin(2 * np.pi * (count * middle + rng.uniform())) for count in (1, 2, 3)]
    return np.asarray(sum(waves))


def as_text(
    traces: Sequence[PeelTrace],
    *,
    codes: Sequence[str],
    rate: str,
    technique: str,
    width: str,
    unit: str = "N",
    layout: LayoutName = "comma",
) -> str:
    """A file of traces as a tester might write it, lines ended by LF.

    codes : label code of each trace; rate, technique, width : as the header states them, such as
    "300 mm/min", "A", "15 mm"; unit : of force; layout : "comma" (blocks one below the other), "semicolon"
    (the same with decimal commas and a row of units) or "side-by-side" (tabs, a pair of columns a trace).
    """
    facts = [("Grip separation rate", rate), ("Technique", technique), ("Specimen width", width)]
    factor = units.factor("N", unit)
    if layout == "side-by-side":
        return _side_by_side(traces, codes, facts, unit, factor)
    write = _comma_block if layout == "comma" else _semicolon_block
    blocks = [write(trace, code, unit, factor) for trace, code in zip(traces, codes, strict=True)]
    sign = "," if layout == "comma" else ";"
    head = [f"{name}{sign}{value}" for name, value in facts]
    return "\n".join([*head, "", "\n\n".join(blocks)]) + "\n"


def _comma_block(trace: PeelTrace, code: str, unit: str, factor: float) -> str:
    rows = zip(trace.time_s, trace.displacement_mm, trace.force_n * factor, strict=True)
    head = [f"Specimen,{code}", f"Time (s),Displacement (mm),Force ({unit})"]
    return "\n".join([*head, *(f"{time:.4f},{travel:.4f},{force:.4f}" for time, travel, force in rows)])


def _semicolon_block(trace: PeelTrace, code: str, unit: str, factor: float) -> str:
    rows = zip(trace.displacement_mm, trace.force_n * factor, trace.time_s, strict=True)
    head = [f"Specimen;{code}", "Travel;Load;Time", f"mm;{unit};s"]
    body = (f"{travel:.4f};{force:.4f};{time:.4f}".replace(".", ",") for travel, force, time in rows)
    return "\n".join([*head, *body])


def _side_by_side(
    traces: Sequence[PeelTrace],
    codes: Sequence[str],
    facts: Sequence[tuple[str, str]],
    unit: str,
    factor: float,
) -> str:
    head = [f"{name}: {value}" for name, value in facts]
    head.append("\t".join(f"{code}\t" for code in codes))
    head.append("\t".join(f"Extension [mm]\tForce [{unit}]" for _ in codes))
    pairs = [_pairs(trace, factor) for trace in traces]
    rows = ("\t".join(pair[row] if row < len(pair) else "\t" for pair in pairs) for row in range(max(map(len, pairs))))
    return "\n".join([*head, *rows]) + "\n"


def _pairs(trace: PeelTrace, factor: float) -> list[str]:
    rows = zip(trace.displacement_mm, trace.force_n * factor, strict=True)
    return [f"{travel:.4f}\t{force:.4f}" for travel, force in rows]
