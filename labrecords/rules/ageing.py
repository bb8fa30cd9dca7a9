"""What accelerated ageing stands for (ASTM F1980: the rate of ageing grows by Q10 for each ten degrees)."""

import math

from .answers import Answer

# A conservative and customary Q10. common practice, no source
USUAL_Q10 = 2.0


def factor(*, ageing_c: float, ambient_c: float, q10: float) -> float:
    """How many days at ambient temperature one day in the chamber stands for.

    >>> factor(ageing_c=55, ambient_c=25, q10=2)
    8.0
    """
    return float(q10 ** ((ageing_c - ambient_c) / 10))


def days_needed(*, simulated_days: float, ageing_c: float, ambient_c: float, q10: float) -> int:
    """Whole days in the chamber that stand for at least so many at ambient temperature.

    >>> days_needed(simulated_days=365.25, ageing_c=55, ambient_c=25, q10=2)
    46
    """
    return math.ceil(simulated_days / factor(ageing_c=ageing_c, ambient_c=ambient_c, q10=q10))


def check_ageing(*, ageing_c: float | None, ambient_c: float | None, q10: float | None) -> list[Answer]:
    """Temperatures and Q10 come together, and make sense."""
    if ageing_c is None or ambient_c is None or q10 is None:
        return [Answer("ageing-incomplete", "Ageing needs the chamber's and the ambient temperature, and Q10.")]
    if ageing_c <= ambient_c or q10 <= 1:
        why = f"The chamber at {ageing_c:g} °C and ambient {ambient_c:g} °C with Q10 {q10:g} do not age faster."
        return [Answer("ageing-incomplete", why)]
    return []
