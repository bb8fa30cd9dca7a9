"""Input, validated once: each function returns what came in ready for computing, or raises ``ValueError``.

Every sentence names the parameter, what it must be, and what came.
"""

import math
import operator
from collections.abc import Collection
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

LARGEST = 1e100  # squares and sums of squares must stay within doubles
SMALLEST = 1e-100
MOST = 10**9
NUMERIC = "fiuO"  # numpy's kinds: floats, whole numbers, objects such as Decimal; no text, truth values, dates, complex


def array(data: ArrayLike, *, name: str = "values", at_least: int = 1) -> Floats:
    """Return ``data`` as a one-dimensional array of ``at_least`` or more finite floats, not to be changed."""
    numbers = _floats(data, name=name)
    if numbers.ndim != 1:
        raise ValueError(f"{name} must be one-dimensional; got {numbers.ndim} dimensions.")
    if numbers.size < at_least:
        plural = "" if at_least == 1 else "s"
        raise ValueError(f"{name} must hold at least {at_least} number{plural}; got {numbers.size}.")
    # The usual case, quickly: NaN is its array's least and largest, and fails every comparison; infinity fails this.
    if numbers.size and not max(-numbers[numbers.argmin()], numbers[numbers.argmax()]) <= LARGEST:
        _refuse_first(numbers, name=name)
    return numbers


def spread(data: ArrayLike, *, name: str = "values", at_least: int = 2) -> Floats:
    """Return ``data`` as ``array`` does, refusing values that are all equal."""
    numbers = array(data, name=name, at_least=at_least)
    if numbers.max() - numbers.min() < SMALLEST:
        raise ValueError(f"{name} must not all be equal; got {numbers.size} times {float(numbers[0])!r}.")
    return numbers


def same_length(first: Floats, second: Floats, *, names: tuple[str, str]) -> None:
    """Refuse two arrays of different length."""
    if first.size != second.size:
        raise ValueError(f"{names[0]} and {names[1]} must be equally long; got {first.size} and {second.size}.")


def finite(value: Any, *, name: str) -> float:
    """Return ``value`` as a finite float."""
    number = _number(value, name=name, must="a finite number")
    if not math.isfinite(number):
        raise ValueError(f"{name} must be a finite number; got {value!r}.")
    return number


def positive(value: Any, *, name: str) -> float:
    """Return ``value`` as a finite float above 0."""
    number = finite(value, name=name)
    if number <= 0:
        raise ValueError(f"{name} must be above 0; got {value!r}.")
    return number


def at_least(value: Any, least: float, *, name: str) -> float:
    """Return ``value`` as a finite float of ``least`` or more."""
    number = finite(value, name=name)
    if number < least:
        raise ValueError(f"{name} must be {least:g} or more; got {value!r}.")
    return number


def fraction(value: Any, *, name: str) -> float:
    """Return ``value`` as a float between 0 and 1, both left out."""
    number = _number(value, name=name, must="between 0 and 1")
    if not 0 < number < 1:
        raise ValueError(f"{name} must be between 0 and 1, both left out; got {value!r}.")
    return number


def count(value: Any, *, name: str, at_least: int = 0) -> int:
    """Return ``value`` as an int from ``at_least`` to 1,000,000,000; a float is refused even when whole."""
    try:
        number = operator.index(value)
    except TypeError:
        raise ValueError(f"{name} must be a whole number; got {value!r}.") from None
    if number < at_least:
        raise ValueError(f"{name} must be at least {at_least}; got {number}.")
    if number > MOST:
        raise ValueError(f"{name} must be at most {MOST}; got more.")
    return number


def choice(value: Any, *, name: str, options: Collection[str]) -> str:
    """Return ``value`` if it is one of ``options``."""
    if not isinstance(value, str) or value not in options:
        raise ValueError(f"{name} must be one of {', '.join(options)}; got {value!r}.")
    return value


def _floats(data: ArrayLike, *, name: str) -> Floats:
    try:
        raw = np.asarray(data)
        if raw.dtype.kind in NUMERIC:
            return np.asarray(raw, dtype=np.float64)
        raise TypeError(raw.dtype)
    except (TypeError, ValueError):
        raise ValueError(f"{name} must be a list of numbers; got {data!r:.80}.") from None


def _number(value: Any, *, name: str, must: str) -> float:
    if isinstance(value, str | bytes | bool):  # float() would take "12" and True without a word
        raise ValueError(f"{name} must be {must}; got {value!r}.")
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError):
        raise ValueError(f"{name} must be {must}; got {value!r}.") from None


def _refuse_first(numbers: Floats, *, name: str) -> None:
    place = int(np.flatnonzero(~(np.abs(numbers) <= LARGEST))[0])
    raise ValueError(
        f"{name} must be finite numbers no larger than {LARGEST:g} in size; "
        f"got {float(numbers[place])} at position {place + 1}."
    )
