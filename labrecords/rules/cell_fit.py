"""Whether a load cell fits the force: judged by its verified range and its noise, never by a share of capacity."""

from .answers import Answer
from .facts import Equipment

# Worth a note, never a stop: below about a tenth of capacity people look twice. common practice, no source
NOTED_SHARE = 0.1


def check_cell(cell: Equipment, *, weak_n: float, strong_n: float, noise_share: float, accepted: bool) -> list[Answer]:
    """Stop for a cell too large for the weakest force expected (newtons), unless an engineer accepted it.

    `noise_share` is the largest share of the weak end that the cell's idle noise (one standard deviation) may be.
    """
    answers = [] if accepted else _too_large(cell, weak_n, noise_share)
    share = strong_n / cell.capacity_n
    if share < NOTED_SHARE:
        why = f"{strong_n:g} N is {share * 100:.1f} % of the capacity of {cell.name} ({cell.capacity_n:g} N)."
        answers.append(Answer("small-share", why, {"share": f"{share:.4f}"}))
    return answers


def check_top(item: Equipment, *, strong_n: float, accepted: bool) -> list[Answer]:
    """Stop for a tester or load cell too small for the strongest force expected (newtons).

    Beyond capacity it may be damaged, whoever accepts it; beyond its verified range an engineer may accept it.
    """
    facts = {"item": item.label, "strong_n": f"{strong_n:g}"}
    said = f"The strongest force expected is {strong_n:g} N; {item.name} ({item.label})"
    if strong_n > item.capacity_n:
        return [Answer("cell-too-small", f"{said} can measure {item.capacity_n:g} N.", facts)]
    high = item.calibration.verified_high_n if item.calibration else None
    if high is not None and strong_n > high and not accepted:
        return [Answer("cell-too-small", f"{said} is verified up to {high:g} N.", facts)]
    return []


def _too_large(cell: Equipment, weak_n: float, noise_share: float) -> list[Answer]:
    calibration = cell.calibration
    if calibration is None:
        return []
    facts = {"cell": cell.label, "weak_n": f"{weak_n:g}"}
    if calibration.verified_low_n is not None and weak_n < calibration.verified_low_n:
        why = (
            f"The weakest force expected is {weak_n:g} N; {cell.name} ({cell.label}) is verified from "
            f"{calibration.verified_low_n:g} N."
        )
        return [Answer("cell-too-large", why, facts)]
    if calibration.noise_n is not None and calibration.noise_n > noise_share * weak_n:
        why = (
            f"The noise of {cell.name} ({cell.label}) is {calibration.noise_n:g} N, "
            f"and the method allows {noise_share * 100:g} % of the weakest force expected ({weak_n:g} N)."
        )
        return [Answer("cell-too-large", why, facts)]
    return []
