"""From a reading to numbers: the force typed or the trace's peak, its strength, and what the trace says."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from labrecords.files import reader
from labrecords.files.kept import Kept
from labrecords.files.layout import Layout
from labrecords.files.problems import FileProblem
from labrecords.models import Study, TraceFile
from labrecords.queries.traces import reduced_as_locked
from labrecords.rules import facts, numbers
from labrecords.rules.answers import Answer
from labrecords.stats import traces, units
from labrecords.stats.interval import Interval

if TYPE_CHECKING:
    from .results import Reading, TraceChoice

# Nine decimals in any unit of the trade are far below what a tester resolves; they make comparison exact.
STRENGTH = Decimal("0.000000001")
# The marks of a force that is known only to lie beyond an end, and on which side.
CENSORED = {"below-verified": "below", "above-verified": "above", "above-capacity": "above"}


@dataclass(frozen=True)
class Measured:
    """The numbers of one reading, in newtons, and its strength in the unit of the set-up."""

    source: str
    unit: str
    width_mm: float
    answers: tuple[Answer, ...] = ()
    recorded: str = ""
    recorded_unit: str = ""
    peak_force_n: float | None = None
    typed_force_n: float | None = None
    strength: Decimal | None = None
    mean_force_n: float | None = None
    trace_facts: facts.Trace | None = None
    samples: Any = None
    reduction: dict | None = None

    def columns(self, answers: Sequence[Answer]) -> dict[str, Any]:
        """What the result's row holds, given the gate's answers."""
        given = {answer.code: answer for answer in answers}
        ends = self._censored(given)
        averaged = self.mean_force_n is not None and "no-average" not in given and not ends["censored"]
        return {
            "source": self.source,
            "recorded": self.recorded,
            "recorded_unit": self.recorded_unit,
            "peak_force_n": self.peak_force_n,
            "strength": self.strength,
            "mean_force_n": self.mean_force_n if averaged else None,
            "mean_strength": self.as_strength(self.mean_force_n) if averaged else None,
        } | ends

    def _censored(self, given: dict[str, Answer]) -> dict[str, Any]:
        if "opened-before-test" in given:
            return {"censored": "below", "censored_at": None}
        for code, side in CENSORED.items():
            if code in given:
                end = float(given[code].facts[f"{side}_n"])
                return {"censored": side, "censored_at": self.as_strength(end)}
        return {"censored": "", "censored_at": None}

    def as_strength(self, force_n: float) -> Decimal:
        """A force as a strength in the set-up's unit, to nine decimals."""
        return Decimal(repr(units.strength(force_n, self.width_mm, self.unit))).quantize(STRENGTH)


def measure(reading: "Reading", study: Study, *, used_by: Callable[[TraceFile, int], str | None]) -> Measured:
    """Understand a reading. What cannot be understood comes back as answers, never as a guess."""
    setup = study.setup
    measured = Measured(source="typed", unit=setup.unit, width_mm=float(reading.width_mm))
    if reading.typed:
        measured = _typed(measured, reading)
    if reading.trace is not None:
        measured = _traced(measured, reading.trace, study, used_by)
    return measured


def _typed(measured: Measured, reading: "Reading") -> Measured:
    shown = reading.unit or measured.unit
    try:
        bare = numbers.without_unit(reading.typed, unit=shown)
        value = numbers.parse(bare)
    except numbers.OtherUnit as other:
        told = {"said": other.unit, "locked": shown}
        return replace(measured, answers=(Answer("unit-mismatch", str(other), told),))
    except numbers.NotANumber as problem:
        return replace(measured, answers=(Answer("not-a-number", str(problem)),))
    as_force = reading.unit == "N"
    force = float(value) if as_force else float(value) / units.strength(1.0, measured.width_mm, measured.unit)
    return replace(
        measured,
        recorded=bare.replace(",", "."),
        recorded_unit=shown,
        peak_force_n=force,
        typed_force_n=force,
        strength=measured.as_strength(force) if as_force else value,
    )


def _traced(measured: Measured, choice: "TraceChoice", study: Study, used_by) -> Measured:
    try:
        segment = _segment(choice)
        _, reduced = reduced_as_locked(study.setup, segment)
        rate = _rate(segment, reduced)
    except (FileProblem, ValueError) as problem:
        answer = Answer("trace-unreadable", getattr(problem, "sentence", str(problem)))
        return replace(measured, answers=(*measured.answers, answer))
    return replace(
        measured,
        source="trace",
        recorded=f"{reduced.peak_force_n:.9g}",
        recorded_unit="N",
        peak_force_n=reduced.peak_force_n,
        mean_force_n=reduced.mean_force_n,
        strength=measured.as_strength(reduced.peak_force_n),
        samples=segment,
        reduction=asdict(reduced) | {"measured_rate_mm_min": rate, "put_in_order": segment.backward},
        trace_facts=_facts(segment, reduced, rate, used_by(choice.file, choice.segment)),
    )


def _segment(choice: "TraceChoice") -> reader.Segment:
    """The segment, read from the very bytes that are kept."""
    file = Kept(choice.file.sha256, choice.file.name, bytes(choice.file.content))
    read = file.read(Layout.from_json(choice.layout))
    for segment in read.segments:
        if segment.index == choice.segment:
            return segment
    raise ValueError(f"{choice.file.name} has {len(read.segments)} curves; number {choice.segment} is not one of them.")


def _rate(segment: reader.Segment, reduced: traces.ReducedTrace) -> float | None:
    if segment.time_s is None:
        return None
    within = Interval(reduced.start_mm, reduced.end_mm)
    return traces.measured_rate(segment.displacement_mm, segment.time_s, within_mm=within)


def _deepest_fall(segment: reader.Segment, reduced: traces.ReducedTrace) -> float:
    """The largest fall between two readings inside the analysed span, as a share of the mean force there."""
    travel = segment.displacement_mm
    inside = (travel >= reduced.analysed_from_mm) & (travel <= reduced.analysed_to_mm)
    force = segment.force_n[inside]
    if len(force) < 2 or reduced.mean_force_n <= 0:
        return 0.0
    return max(0.0, float((force[:-1] - force[1:]).max()) / reduced.mean_force_n)


def _facts(segment, reduced, rate, used_by) -> facts.Trace:
    return facts.Trace(
        peak_force_n=reduced.peak_force_n,
        measured_rate_mm_min=rate,
        stated_rate=stated_rate(segment.stated.get("rate")),
        stated_technique=segment.stated.get("technique"),
        used_by=used_by,
        start_open=reduced.start_open,
        end_open=reduced.end_open,
        peel_travel_mm=reduced.end_mm - reduced.start_mm,
        deepest_fall=_deepest_fall(segment, reduced),
        put_in_order=segment.backward,
        threshold_fraction=reduced.threshold_fraction,
        span_fraction=reduced.span_fraction,
    )


def stated_rate(text: str | None) -> facts.Rate | None:
    """A rate as a file's header states it, such as "300 mm/min".

    >>> str(stated_rate("300 mm/min"))
    '300 mm/min'
    """
    if not text:
        return None
    value, _, unit = text.strip().partition(" ")
    try:
        units.exact(value, unit, "mm/min")
    except ValueError:
        return None  # words such as "fast" state no rate; the trace's own rate is measured all the same
    return facts.Rate(Decimal(value), unit)
