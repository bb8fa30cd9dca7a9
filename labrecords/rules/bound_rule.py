"""Which model a tolerance bound rests on. The rule is chosen with the plan, before the first value is known."""

NORMAL, TESTED, ORDER = "normal model", "by a test of shape", "order of the values"
LOGNORMAL = "lognormal model"
# From this p down a shape is refused; fewer values than this cannot be tested. common practice, no source
LEVEL = 0.05
FEWEST = 8

RULES: dict[str, str] = {
    NORMAL: (
        "Tolerance bounds rest on the normal model. Where some values could not be measured they rest on the order of "
        "the values instead."
    ),
    TESTED: (
        "Tolerance bounds rest on the normal model, unless Anderson and Darling's test refuses it at 5 %; then on the "
        "lognormal model, unless the test refuses the logarithms too; then, and where some values could not be "
        "measured, on the order of the values. With fewer than 8 values nothing is tested and the normal model stands."
    ),
    ORDER: "Tolerance bounds rest on the order of the values alone, without a model: many values are needed.",
}


def choose(rule: str, *, plain: float | None, logs: float | None) -> str:
    """The model, given p of the values and p of their logarithms; None where it could not be tested.

    >>> choose(TESTED, plain=0.01, logs=0.4)
    'lognormal model'
    >>> choose(TESTED, plain=None, logs=None)
    'normal model'
    """
    if rule != TESTED:
        return rule
    if plain is None or plain >= LEVEL:
        return NORMAL
    return LOGNORMAL if logs is not None and logs >= LEVEL else ORDER
