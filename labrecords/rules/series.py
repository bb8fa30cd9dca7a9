"""One technique, one rate, one width, one reduction: from the first specimen of a study to the last."""

from collections.abc import Iterator, Mapping

from labrecords.stats import units

from .answers import Answer
from .facts import Entry, Method, Rate, Run, Setup, Trace

# No strip of a pouch seal is a metre wide; beyond it a unit or a decimal sign has slipped.
WIDEST_MM = 1000

TECHNIQUE_WORDS = {
    "A": "A (tail unsupported)",
    "B": "B (tail held by hand at 90 degrees)",
    "C": "C (tail held at 180 degrees against a rigid plate)",
}


def technique_words(technique: str) -> str:
    """A technique as it reads in a sentence.

    >>> technique_words("A")
    'A (tail unsupported)'
    """
    return TECHNIQUE_WORDS.get(technique, technique or "none")


def check_technique(*, setup: Setup, entry: Entry, run: Run) -> list[Answer]:
    """Entry, run and the file's own header agree with the locked technique."""
    stated = {"The entry": entry.technique, "The run": run.technique}
    if entry.trace and entry.trace.stated_technique:
        stated["The file"] = entry.trace.stated_technique
    return compare_techniques(stated, setup=setup)


def compare_techniques(stated: Mapping[str, str], *, setup: Setup) -> list[Answer]:
    """One answer for each source whose technique is not the locked one."""
    return [
        Answer(
            "technique-changed",
            f"{source} says technique {technique_words(said)}; the study is locked to "
            f"{technique_words(setup.technique)}.",
            {"said": said, "locked": setup.technique, "source": source},
        )
        for source, said in stated.items()
        if said != setup.technique
    ]


def check_rate(*, setup: Setup, method: Method, entry: Entry, run: Run) -> list[Answer]:
    """Entry, run, the file's header and the rate in the trace's own time column agree with the locked rate."""
    stated = {"The entry": entry.rate, "The run": run.rate}
    if entry.trace and entry.trace.stated_rate:
        stated["The file"] = entry.trace.stated_rate
    answers = compare_rates(stated, setup=setup)
    if entry.trace:
        answers.extend(_measured_rate(setup.rate, method.rate_tolerance, entry.trace))
    return answers


def compare_rates(stated: Mapping[str, Rate], *, setup: Setup) -> list[Answer]:
    """One answer for each source whose rate is not the locked one."""
    return [
        Answer(
            "rate-changed",
            f"{source} says {said}; the study is locked to {setup.rate}.",
            {"said": str(said), "locked": str(setup.rate), "source": source},
        )
        for source, said in stated.items()
        if not same_rate(said, setup.rate)
    ]


def same_rate(one: Rate, other: Rate) -> bool:
    """Whether two stated rates are the same quantity, exactly: 12 in/min is 304.8 mm/min.

    >>> from decimal import Decimal
    >>> same_rate(Rate(Decimal("12"), "in/min"), Rate(Decimal("304.8"), "mm/min"))
    True
    """
    return units.same(one.value, one.unit, other.value, other.unit)


def _measured_rate(locked: Rate, tolerance: float, trace: Trace) -> Iterator[Answer]:
    if trace.measured_rate_mm_min is None:
        return
    wanted = units.convert(float(locked.value), locked.unit, "mm/min")
    if abs(trace.measured_rate_mm_min - wanted) <= tolerance * wanted:
        return
    measured = units.convert(trace.measured_rate_mm_min, "mm/min", locked.unit)
    yield Answer(
        "rate-changed",
        f"The trace's own time and travel give {measured:.2f} {locked.unit}; the study is locked to {locked}, "
        f"and they must agree within {tolerance * 100:g} %.",
        {"measured": f"{measured:.4f} {locked.unit}", "locked": str(locked), "source": "trace"},
    )


def check_width(*, setup: Setup, entry: Entry) -> list[Answer]:
    """Where the width is nominal, every specimen has it; where it is measured, it is above zero."""
    if setup.width_measured and 0 < entry.width_mm <= WIDEST_MM:
        return []
    if not setup.width_measured and entry.width_mm == setup.width_mm:
        return []
    locked = "a measured width" if setup.width_measured else f"{setup.width_mm.normalize():f} mm"
    why = f"The entry says {entry.width_mm.normalize():f} mm; the study is locked to {locked}."
    return [Answer("width-changed", why, {"said": str(entry.width_mm), "locked": str(setup.width_mm)})]


def check_reduction(*, setup: Setup, entry: Entry) -> list[Answer]:
    """The trace was reduced with the set-up's own fractions."""
    trace = entry.trace
    if trace is None:
        return []
    used = (trace.threshold_fraction, trace.span_fraction)
    locked = (setup.threshold_fraction, setup.span_fraction)
    if used == locked:
        return []
    why = f"Reduced with threshold {used[0]} and span {used[1]}; the study is locked to {locked[0]} and {locked[1]}."
    return [Answer("reduction-changed", why, {"used": str(used), "locked": str(locked)})]
