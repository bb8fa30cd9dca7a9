"""Traces that somebody should look at before they are kept."""

from .answers import Answer
from .facts import Entry, Setup

# A tail folded back over a rigid plate makes the grip travel about twice the seal's width while the seal opens;
# otherwise about once. common practice, no source
TRAVEL_PER_SEAL = {"A": (0.5, 3.0), "B": (0.5, 3.0), "C": (1.0, 5.0)}

# Stick-slip is a ripple; a fall by this share of the mean between two readings is a slip in the grip or a tear.
# common practice, no source
SUDDEN_FALL = 0.35


def check_trace(*, setup: Setup, entry: Entry) -> list[Answer]:
    """One extra press for a trace that does not look like the pull of one whole seal."""
    trace = entry.trace
    if trace is None or "odd-trace" in entry.confirmed:
        return []
    seen = []
    if trace.start_open:
        seen.append("it starts under load")
    if trace.end_open:
        seen.append("it does not come back to rest")
    seal = float(setup.seal_width_mm)
    least, most = TRAVEL_PER_SEAL[setup.technique]
    if not least * seal <= trace.peel_travel_mm <= most * seal:
        seen.append(f"the grip travelled {trace.peel_travel_mm:.1f} mm while a {seal:g} mm seal opened")
    if trace.deepest_fall >= SUDDEN_FALL:
        seen.append(f"the force fell by {trace.deepest_fall * 100:.0f} % of its mean at once, within the peel")
    if trace.put_in_order:
        steps = "1 small step" if trace.put_in_order == 1 else f"{trace.put_in_order} small steps"
        seen.append(f"travel went back, by {steps}, and the readings were put in order")
    if not seen:
        return []
    return [Answer("odd-trace", f"Look at this trace: {'; '.join(seen)}.", {"seen": "; ".join(seen)})]
