"""Invented values and traces for the figures."""

from functools import cache

import numpy as np

from labrecords.charts.limits import Limit
from labrecords.charts.overlay import TraceLine, trace_overlay
from labrecords.charts.probability import probability_plot
from labrecords.charts.values import Bound, GroupValues, individual_values

LIMITS = (Limit(5.0), Limit(5.5, "process limit"), Limit(11.0, "alert limit", "upper"))


def lots() -> list[GroupValues]:
    """Give three lots: one plain with a box, one with every mark and a void, one partly below the limit."""
    plain = tuple(round(7 + 0.07 * step, 2) for step in range(22))
    return [
        GroupValues(
            "Lot A",
            plain,
            tuple(f"SA-{n}" for n in range(22)),
            ("AP",) * 12 + ("CO",) * 10,
            mean=7.735,
            bound=Bound(6.1, "95 % confident that at least 99 % exceed it"),
        ),
        GroupValues(
            "Lot B",
            (0.5, 0.0, 12.0, 3.3, 8.0),
            ("SB-0", "SB-1", "SB-2", "SB-3", "SB-4"),
            ("", "", "BR", "AP", "DE"),
            marks=("below-verified", "opened-before-test", "above-capacity", "", ""),
            voids=(False, False, False, True, False),
        ),
        GroupValues(
            "Lot C",
            (4.99, 5.0, 5.2, 4.996, 6.4, 6.6, 6.8),
            tuple(f"SC-{n}" for n in range(7)),
            ("AP", "CO", "BS", "EL", "MX", "AP+CO", "BR"),
            mean=5.712,
        ),
    ]


def trace(code: str, *, height: float, voided: bool = False, span=(4.0, 32.0), samples: int = 3001) -> TraceLine:
    """Give a trace that ramps up, ripples around `height`, peaks once by 3 N at 20 mm and drops at 36 mm."""
    travel = np.linspace(0, 40, samples)
    ripple = 0.2 * np.sin(7 * travel + height)
    force = np.where(travel < 36, height * (1 - np.exp(-travel / 1.5)) + ripple, 0.0)
    force[samples // 2] += 3
    within = (travel >= span[0]) & (travel <= span[1])
    top = int(force.argmax())
    return TraceLine(
        code=code,
        displacement_mm=travel,
        force_n=force,
        analysed_from_mm=span[0],
        analysed_to_mm=span[1],
        peak_mm=float(travel[top]),
        peak_n=float(force[top]),
        mean_n=float(force[within].mean()),
        voided=voided,
        analysed_points=int(within.sum()),
    )


def traces() -> list[TraceLine]:
    """Give seven traces, the last one void."""
    return [trace(f"ST-{n}", height=8 + n / 4, voided=n == 6) for n in range(7)]


@cache
def figures():
    """Give one figure of each kind, by name."""
    odd = [*lots()[0].values[:-1], 14.0]
    return {
        "values": individual_values(lots(), unit="N/15 mm", decimals=2, limits=LIMITS),
        "overlay": trace_overlay(traces(), chosen="ST-3"),
        "probability": probability_plot(odd, lots()[0].codes, unit="N/15 mm", decimals=2, limits=LIMITS[:1]),
    }
