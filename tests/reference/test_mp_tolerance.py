"""The committed table of tolerance factors is what its script makes, and what a plain integral gives."""

import pytest
from mpmath import mp, mpf

from tests.reference import tables
from tests.reference.mp import tolerance as script

pytestmark = pytest.mark.no_cover  # many samples: other tests show that every line is reached

ROWS = tables.rows("mp_tolerance.csv")[1:]


def test_the_table_is_whole():
    claims = [[str(part) for part in claim] for claim in script.claims()]
    factors = [row[:5] for row in ROWS if row[0] != "order statistic"]
    assert factors == [claim for claim in claims if claim[0] != "order statistic"]
    assert len(factors) == 2 * 9 * 6 * 5 + 7 * 5


@pytest.mark.parametrize(
    "claim",
    [
        ("one-sided", 30, "29", "0.95", "0.95"),
        ("one-sided", 30, "200", "0.9", "0.9"),
        ("two-sided", 30, "29", "0.95", "0.95"),
        ("order statistic", 300, "299", "0.95", "0.95"),
    ],
)
def test_the_script_makes_the_row(claim):
    with mp.workdps(script.WORKING):
        assert script.row(*claim).split(",") in ROWS


def test_no_row_where_n_is_too_small():
    with mp.workdps(script.WORKING):
        assert script.row("order statistic", 58, "57", "0.95", "0.95") is None


def test_a_one_sided_factor_by_a_plain_integral():
    """P(Z + z sqrt(n) <= k sqrt(n) s), integrated over s by mpmath's own quadrature."""
    with mp.workdps(30):
        n, df = 5, 4
        k = _tabled("one-sided", n, "0.95", "0.95")
        shift = mp.sqrt(n) * mp.sqrt(2) * mp.erfinv(mpf("0.9"))

        def density(s):
            return 2 * (mpf(df) / 2) ** (mpf(df) / 2) / mp.gamma(mpf(df) / 2) * s ** (df - 1) * mp.exp(-df * s * s / 2)

        reached = mp.quad(lambda s: density(s) * mp.ncdf(k * mp.sqrt(n) * s - shift), [0, 0.5, 1, 2, 4, 8])
        assert abs(reached - mpf("0.95")) < mpf(10) ** -18


def test_a_two_sided_factor_by_a_plain_integral():
    """The sum of two coordinates, n = 2: P(both ends far enough), integrated over the mean by quadrature."""
    with mp.workdps(30):
        k, coverage = _tabled("two-sided", 2, "0.9", "0.9"), mpf("0.9")

        def short(x):  # s is too small for an interval about x; chi-squared of one degree of freedom
            half = mp.findroot(lambda r: mp.ncdf(x + r) - mp.ncdf(x - r) - coverage, 1.3 + abs(x))
            return mp.erf(half / k / mp.sqrt(2))

        risk = mp.quad(lambda x: 2 * mp.npdf(x, 0, 1 / mp.sqrt(2)) * short(x), [0, 1, 2, 4, 8.5])
        assert abs(risk - mpf("0.1")) < mpf(10) ** -15


def _tabled(kind, n, coverage, confidence):
    (found,) = (row[6] for row in ROWS if row[:5] == [kind, str(n), str(n - 1), coverage, confidence])
    return mpf(found)
