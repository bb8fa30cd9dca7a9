"""Whether a force lies where the equipment can measure it. Ends that do not are results with a mark."""

from .answers import Answer
from .facts import Entry, Equipment, Method


def check_reach(*, entry: Entry, tester: Equipment, cell: Equipment, method: Method) -> list[Answer]:
    """The marks a kept result carries: weak and strong ends count, as what they are."""
    if entry.opened:
        return [Answer("opened-before-test", "The seal had opened before it was pulled.")]
    answers = []
    if entry.peak_force_n is not None:
        answers += _ends(entry.peak_force_n, tester, cell)
    if not any(mode in method.peeling_modes for mode in entry.modes):
        modes = ", ".join(entry.modes)
        answers.append(Answer("no-average", f"The strip did not peel ({modes}), so there is only a maximum."))
    return answers


def _ends(force_n: float, tester: Equipment, cell: Equipment) -> list[Answer]:
    weakest = min((cell, tester), key=lambda item: item.capacity_n)
    if force_n > weakest.capacity_n:
        facts = {"force_n": f"{force_n:.6g}", "above_n": f"{weakest.capacity_n:.17g}", "item": weakest.label}
        why = f"{force_n:.4g} N is more than {weakest.name} ({weakest.label}) can measure: {weakest.capacity_n:g} N."
        return [Answer("above-capacity", why, facts)]
    begins, ends = _verified_range(cell, tester)
    if begins is not None and force_n < begins:
        why = f"{force_n:.4g} N is below {begins:g} N, where the verified range of tester and cell begins."
        return [Answer("below-verified", why, {"force_n": f"{force_n:.6g}", "below_n": f"{begins:.17g}"})]
    if ends is not None and force_n > ends:
        why = f"{force_n:.4g} N is above {ends:g} N, where the verified range of tester and cell ends."
        return [Answer("above-verified", why, {"force_n": f"{force_n:.6g}", "above_n": f"{ends:.17g}"})]
    return []


def _verified_range(*items: Equipment) -> tuple[float | None, float | None]:
    """Where the verified range begins and ends, of the items together: the force is known only within each."""
    made = [item.calibration for item in items if item.calibration is not None]
    lows = [found.verified_low_n for found in made if found.verified_low_n is not None]
    highs = [found.verified_high_n for found in made if found.verified_high_n is not None]
    return max(lows, default=None), min(highs, default=None)
