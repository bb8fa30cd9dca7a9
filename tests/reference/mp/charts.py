"""Constants of control charts to 20 digits, straight from their definitions, in mpmath.

`python -m tests.reference.mp.charts` writes tests/reference/data/mp_charts.csv (some minutes). Nothing of labrecords
and nothing of scipy is used. The mean of the range is the classic integral of 1 - F**n - (1 - F)**n [1]_, by the
trapezoid rule, exact for a smooth integrand that dies away; its second moment the double integral over both ends.

References
----------
.. [1] Tippett (1925), On the extreme individuals and the range of samples taken from a normal population,
   Biometrika 17, from memory.
"""

from pathlib import Path

import mpmath
from mpmath import mp, mpf

TABLE = Path(__file__).parents[1] / "data" / "mp_charts.csv"
SIZES = (2, 3, 4, 5, 7, 10, 15, 25, 100, 1000)
WORKING, PRINTED = 30, 18  # digits
STEP = mpf(1) / 12
FAR = 12  # standard deviations


def c4(n: int) -> mpf:
    """The expected standard deviation, over the true one."""
    return mp.sqrt(mpf(2) / (n - 1)) * mp.gamma(mpf(n) / 2) / mp.gamma(mpf(n - 1) / 2)


def range_moments(n: int) -> tuple[mpf, mpf]:
    """Mean and standard deviation of the range."""
    points = [place * STEP for place in range(-12 * FAR, 12 * FAR + 1)]
    mean = STEP * mp.fsum(1 - mp.ncdf(x) ** n - mp.ncdf(-x) ** n for x in points)
    below = [(mp.ncdf(x), mp.npdf(x), x) for x in points]

    def beyond(r: mpf) -> mpf:
        within = mp.fsum(density * (mp.ncdf(x + r) - share) ** (n - 1) for share, density, x in below)
        return 2 * r * (1 - n * STEP * within)

    square = mp.quad(beyond, [0, 2, 4, 6, 8, 10, 14, 20], method="gauss-legendre", maxdegree=4)
    return mean, mp.sqrt(square - mean**2)


def main() -> None:
    """Write the table."""
    with mp.workdps(WORKING), TABLE.open("w", encoding="utf-8") as table:
        table.write(f"# made by tests/reference/mp/charts.py, mpmath {mpmath.__version__}, {WORKING} digits\n")
        table.write("n,c4,d2,d3\n")
        for n in SIZES:
            numbers = (c4(n), *range_moments(n))
            table.write(",".join([str(n), *(mp.nstr(x, PRINTED, strip_zeros=False) for x in numbers)]) + "\n")
            table.flush()


if __name__ == "__main__":
    main()
