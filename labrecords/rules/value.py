"""What is entered: a force, its unit, how the strip came apart, and the trace beside it."""

from .answers import Answer
from .facts import Entry, Method, Setup


def check_value(*, setup: Setup, method: Method, entry: Entry) -> list[Answer]:
    """A force or an opened seal, in the set-up's unit or as a force, with a failure mode of the method."""
    return [
        *_given(entry),
        *_unit(setup, entry),
        *_modes(method, entry),
        *_agrees(method, entry),
        *_unused(entry),
    ]


def _given(entry: Entry) -> list[Answer]:
    if entry.opened:
        return _opened_alone(entry)
    if entry.peak_force_n is None:
        return [Answer("no-value", "There is neither a force nor a trace.")]
    if entry.peak_force_n < 0:
        return [Answer("negative", f"The force is {entry.peak_force_n:g} N.")]
    return []


def _opened_alone(entry: Entry) -> list[Answer]:
    if entry.typed_force_n is None and entry.trace is None:
        return []
    return [Answer("opened-with-force", "The seal is said to have opened before the test, and a force is given.")]


def _unit(setup: Setup, entry: Entry) -> list[Answer]:
    if entry.unit is None or entry.unit in (setup.unit, "N"):
        return []
    why = f"The value is in {entry.unit}; this set-up records {setup.unit}."
    return [Answer("unit-mismatch", why, {"said": entry.unit, "locked": setup.unit})]


def _modes(method: Method, entry: Entry) -> list[Answer]:
    if entry.opened:
        return []
    if not entry.modes:
        return [Answer("no-mode", "No failure mode was chosen.")]
    unknown = [mode for mode in entry.modes if mode not in method.modes]
    if not unknown:
        return []
    why = f"{', '.join(unknown)}: {method.name} has {', '.join(method.modes)}."
    return [Answer("mode-unknown", why, {"said": ", ".join(unknown)})]


def _agrees(method: Method, entry: Entry) -> list[Answer]:
    if entry.trace is None or entry.typed_force_n is None:
        return []
    peak = entry.trace.peak_force_n
    if abs(entry.typed_force_n - peak) <= method.trace_agreement * abs(peak):
        return []
    why = f"Typed {entry.typed_force_n:.4g} N, the trace's peak is {peak:.4g} N."
    return [Answer("trace-disagrees", why, {"typed_n": f"{entry.typed_force_n:.6g}", "trace_n": f"{peak:.6g}"})]


def _unused(entry: Entry) -> list[Answer]:
    if entry.trace is None or entry.trace.used_by is None:
        return []
    why = f"The same stretch of the same file is on {entry.trace.used_by}."
    return [Answer("trace-reused", why, {"specimen": entry.trace.used_by})]
