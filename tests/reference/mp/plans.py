"""Bounds of capability indices, and the power of two-group plans, to 20 digits, in mpmath.

`python -m tests.reference.mp.plans` writes tests/reference/data/mp_plans.csv (some minutes).
"""

from collections.abc import Iterator
from pathlib import Path

import mpmath
from mpmath import mp, mpf

from tests.reference.mp import noncentral

TABLE = Path(__file__).parents[1] / "data" / "mp_plans.csv"
BOUNDS = (  # index, n, confidence
    ("1.33", 2, "0.95"),
    ("1.33", 5, "0.95"),
    ("1.33", 5, "0.5"),
    ("1.33", 5, "0.05"),
    ("-0.2", 12, "0.9"),
    ("0", 8, "0.95"),
    ("1.67", 30, "0.99"),
    ("0.6666666666666666666667", 50, "0.95"),
    ("3", 30, "0.95"),
    ("10", 30, "0.95"),
    ("2", 200, "0.999"),
    ("1", 1000, "0.95"),
)
POWERS = (  # sd, difference, alpha, n, sides
    ("1", "1", "0.05", 23, 2),
    ("1", "1", "0.05", 23, 1),
    ("0.2", "0.5", "0.01", 6, 2),
    ("1", "4", "0.05", 2, 2),
    ("1", "0.1", "0.05", 500, 2),
    ("1", "0.2", "0.5", 3, 2),
)
EQUIVALENCES = (  # sd, margin, true difference, alpha, n
    ("1", "1", "0", "0.05", 23),
    ("1", "1", "0.3", "0.05", 30),
    ("0.15", "0.2", "-0.05", "0.025", 20),
    ("1", "3", "0", "0.05", 3),
    ("1", "20", "18", "0.0001", 3),
    ("1", "0.25", "0", "0.1", 400),
)


def index_bound(index: str, n: int, confidence: str) -> mpf:
    """The c at which a t of shift 3 c sqrt(n) stays below 3 index sqrt(n) with the confidence."""
    root, df = 3 * mp.sqrt(n), n - 1
    t = mpf(index) * root
    near = t - mp.sqrt(2) * mp.erfinv(2 * mpf(confidence) - 1) * mp.sqrt(1 + t * t / (2 * df))
    return mp.findroot(lambda shift: _below(t, df, shift) - mpf(confidence), (near, near + mpf("0.1")), "secant") / root


def power(sd: str, difference: str, alpha: str, n: int, sides: int) -> mpf:
    """Of the t test of two means of n each."""
    df, shift = 2 * n - 2, mpf(difference) / mpf(sd) * mp.sqrt(mpf(n) / 2)
    t = noncentral.t_quantile(mpf(alpha) / sides, df)
    wrong_way = noncentral.below(-t, df, shift) if sides == 2 else 0
    return 1 - noncentral.below(t, df, shift) + wrong_way


def equivalence_power(sd: str, margin: str, truth: str, alpha: str, n: int) -> mpf:
    """Of two one-sided tests of two means of n each."""
    df, errors = 2 * n - 2, mp.sqrt(mpf(n) / 2) / mpf(sd)
    t = noncentral.t_quantile(mpf(alpha), df)
    return noncentral.both(t, df, (-mpf(margin) - mpf(truth)) * errors, (mpf(margin) - mpf(truth)) * errors)


def rows() -> Iterator[str]:
    """Lines of the table."""
    for kind, function, plans in (
        ("index bound", index_bound, BOUNDS),
        ("power", power, POWERS),
        ("equivalence", equivalence_power, EQUIVALENCES),
    ):
        for plan in plans:
            arguments = ",".join(map(str, plan)) + "," * (5 - len(plan))
            yield f"{kind},{arguments},{mp.nstr(function(*plan), noncentral.PRINTED, strip_zeros=False)}"


def _below(t: mpf, df: int, shift: mpf) -> mpf:
    if t < 0:
        return 1 - noncentral.below(-t, df, -shift)
    return noncentral.below(t, df, shift)


def main() -> None:
    """Write the table."""
    with mp.workdps(noncentral.WORKING), TABLE.open("w", encoding="utf-8") as table:
        table.write(
            f"# made by tests/reference/mp/plans.py, mpmath {mpmath.__version__}, {noncentral.WORKING} digits\n"
        )
        table.write("# index bound: index, n, confidence; power: sd, difference, alpha, n, sides;\n")
        table.write("# equivalence: sd, margin, true difference, alpha, n\n")
        table.write("kind,a,b,c,d,e,value\n")
        for row in rows():
            table.write(row + "\n")
            table.flush()


if __name__ == "__main__":
    main()
