"""One number that the outside world knows, and how well ours agrees with it."""

import math
from collections.abc import Callable
from dataclasses import dataclass

MOST = 16.0  # more digits than that a double does not tell apart


@dataclass(frozen=True)
class Case:
    """A number, who says so, and the call that must give it.

    Attributes
    ----------
    function : str
        Module and name in labrecords.stats, such as "tolerance.one_sided_factor".
    source : str
        Where the number is printed or how it was made, short enough for a table.
    expected : str or float
        As the source prints it, as text, if the source rounds ("2.911" promises three decimals); as a float if
        it comes at full precision.
    compute : callable
        Without arguments; gives our number.
    digits : float
        Significant digits that must agree, where `expected` is a float: 9 and more wherever the definition is
        exact. Of text, every printed digit must agree.
    """

    function: str
    source: str
    expected: str | float
    compute: Callable[[], float]
    digits: float = 9.0

    @property
    def printed(self) -> bool:
        """Whether the source rounds."""
        return isinstance(self.expected, str)

    def agreement(self) -> float:
        """Significant digits to which our number agrees, at most 16; of a printed number 0 where it does not."""
        found, expected = self.compute(), float(self.expected)
        if self.printed:
            return float(significant(self.expected)) if abs(found - expected) <= half_a_unit(self.expected) else 0.0
        if found == expected:
            return MOST
        return min(MOST, -math.log10(abs(found - expected) / (abs(expected) or 1.0)))

    def holds(self) -> bool:
        """Whether the agreement is what the source allows."""
        return self.agreement() >= (significant(self.expected) if self.printed else self.digits)


def half_a_unit(printed: str) -> float:
    """Half a unit in the last printed place, and a thousandth more for a tie."""
    mantissa, _, exponent = printed.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 0.5005 * 10.0 ** (int(exponent or 0) - decimals)


def significant(printed: str) -> int:
    """How many digits a printed number promises: "0.0450" has three, "120" has three, "0" has one."""
    digits = printed.lower().partition("e")[0].lstrip("+-").replace(".", "").lstrip("0")
    return len(digits) or 1
