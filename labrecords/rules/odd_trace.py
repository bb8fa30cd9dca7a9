"""Traces that somebody should look at before they are kept."""

from .answers import Answer
from .facts import Entry, Setup

# A tail folded back over a rigid plate makes the grip travel about twice the seal's width while the seal opens;
# otherwise about once. common practice, no source
TRAVEL_PER_SEAL = {"A": (0.5, 3.0), "B": (0.5, 3.0), "C": (1.0, 5.0)}


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
    if not seen:
        return []
    return [Answer("odd-trace", f"Look at this trace: {'; '.join(seen)}.", {"seen": "; ".join(seen)})]
