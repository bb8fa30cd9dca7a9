"""Force against displacement of many specimens, with the analysed span of each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .figure import LONGEST_LABEL, Axis, Figure, Line, Points, Span, Table
from .thin import thin
from .words import counted, cut, fixed

PIXEL_COLUMNS = 300  # across a figure 170 mm wide; at most four samples are kept in each
SHORT_TRACE = 100  # samples; fewer cannot show a plateau, common practice, no source
_NAMED_UP_TO = 4  # more specimens than this are counted in the summary, and named in the table
_AVERAGES_UP_TO = 5  # more horizontal segments than this hide the traces


@dataclass(frozen=True)
class TraceLine:
    """One force trace as recorded, and what was computed from it: newtons and millimetres.

    `mean_n` is None where no average was reported; the span is None where none was analysed.
    """

    code: str
    displacement_mm: Sequence[float]
    force_n: Sequence[float]
    analysed_from_mm: float | None
    analysed_to_mm: float | None
    peak_mm: float
    peak_n: float
    mean_n: float | None = None
    voided: bool = False
    analysed_points: int | None = None

    @property
    def span(self) -> tuple[float, float] | None:
        """The two ends of the analysed span, in millimetres of displacement."""
        if self.analysed_from_mm is None or self.analysed_to_mm is None:
            return None
        return self.analysed_from_mm, self.analysed_to_mm


def trace_overlay(
    traces: Sequence[TraceLine],
    *,
    chosen: str = "",
    decimals: int = 2,
    force_high_n: float | None = None,
    travel_high_mm: float | None = None,
    figure_id: str = "traces",
    subtitle: str = "",
) -> Figure:
    """Lay the traces over one another; `chosen` is the code of the one drawn in full strength.

    Pass the two highest values to give several lots the same axes. Voided traces are dashed and
    counted in nothing. Raises ValueError when there is no trace, or `chosen` is not among them.
    """
    if not traces:
        raise ValueError("There is no trace to draw: upload one, or leave this figure out.")
    first = _chosen(traces, chosen)
    spans = {_rounded(trace.span) for trace in traces if trace.span and not trace.voided}
    return Figure(
        id=figure_id,
        title=_title(traces, decimals=decimals),
        subtitle=subtitle or _subtitle(traces, common=len(spans) == 1),
        x=_axis("Displacement, mm", 1, [trace.displacement_mm for trace in traces], travel_high_mm),
        y=_axis("Force, N", decimals, [trace.force_n for trace in traces], force_high_n),
        label=_label(traces, decimals=decimals),
        summary=_summary(traces, decimals=decimals),
        table=_table(traces, decimals=decimals),
        points=_peaks(traces, decimals=decimals),
        lines=(*_background(traces, first), *_foreground(first), *_averages(traces, first)),
        spans=_spans(first, spans),
    )


def _chosen(traces: Sequence[TraceLine], code: str) -> TraceLine | None:
    if not code:
        return traces[0] if len(traces) == 1 else None
    found = [trace for trace in traces if trace.code == code]
    if not found:
        raise ValueError(f"Trace {code} is not among the traces of this figure: choose one that is.")
    return found[0]


def _rounded(span: tuple[float, float]) -> tuple[float, float]:
    return round(span[0], 2), round(span[1], 2)


def _counted_traces(traces: Iterable[TraceLine]) -> list[TraceLine]:
    return [trace for trace in traces if not trace.voided]


def _title(traces: Sequence[TraceLine], *, decimals: int) -> str:
    kept = _counted_traces(traces)
    if not kept:
        return f"All {counted(len(traces), 'trace')} here are void or set aside."
    low, high = (fixed(end([trace.peak_n for trace in kept]), decimals=decimals) for end in (min, max))
    if len(kept) == 1:
        return f"The peak force of {kept[0].code} is {low} N at {fixed(kept[0].peak_mm, decimals=1)} mm."
    return f"The {len(kept)} traces peak between {low} and {high} N."


def _subtitle(traces: Sequence[TraceLine], *, common: bool) -> str:
    kept = _counted_traces(traces)
    parts = [f"Force against displacement, n = {len(kept)}"]
    if len(kept) < len(traces):
        parts.append(f"{len(traces) - len(kept)} not counted (void or set aside), dashed")
    parts.append("dotted: outside the analysed span" + ("" if common else ", which each trace has its own of"))
    parts.append("ring: peak")
    return "; ".join(parts) + "."


def _axis(label: str, decimals: int, series: Sequence[Sequence[float]], high: float | None) -> Axis:
    lowest = min(float(np.min(values)) for values in series)
    highest = max(float(np.max(values)) for values in series) if high is None else high
    margin = 0.05 * (highest - min(lowest, 0.0)) or 1.0
    return Axis(label, decimals, min(lowest, 0.0) - margin / 5, highest + margin)


def _pieces(trace: TraceLine) -> tuple[list[slice], list[slice]]:
    """Cut a trace into slices inside and outside its analysed span; neighbours share a sample."""
    size = len(trace.displacement_mm)
    if trace.span is None:
        return [], [slice(0, size)]
    travel = np.asarray(trace.displacement_mm)
    within = np.flatnonzero((travel >= trace.span[0]) & (travel <= trace.span[1]))
    if within.size == 0:
        return [], [slice(0, size)]
    start, end = int(within[0]), int(within[-1])
    return [slice(start, end + 1)], [slice(0, start + 1), slice(end, size)]


def _joined(traces: Iterable[TraceLine], *, inside: bool) -> tuple[list[float | None], list[float | None]]:
    x: list[float | None] = []
    y: list[float | None] = []
    for trace in traces:
        for piece in _pieces(trace)[0 if inside else 1]:
            share = (piece.stop - piece.start) / len(trace.displacement_mm)
            columns = max(1, round(PIXEL_COLUMNS * share))
            xs, ys = thin(trace.displacement_mm[piece], trace.force_n[piece], columns=columns)
            x += [*xs.tolist(), None]
            y += [*ys.tolist(), None]
    return x, y


def _line(traces: Sequence[TraceLine], *, name: str, inside: bool, **look: Any) -> list[Line]:
    x, y = _joined(traces, inside=inside)
    return [Line(name, tuple(x), tuple(y), **look)] if x else []


def _background(traces: Sequence[TraceLine], first: TraceLine | None) -> list[Line]:
    others = [trace for trace in traces if trace is not first]
    kept, void = _counted_traces(others), [trace for trace in others if trace.voided]
    lines = _line(kept, name="outside the analysed span", inside=False, colour="ink-3", dash="dot", strength=0.6)
    lines += _line(kept, name="analysed span", inside=True, colour="series-1", strength=0.6)
    for inside in (False, True):
        lines += _line(void, name="not counted", inside=inside, colour="ink-3", dash="dash", key=inside)
    return lines


def _foreground(first: TraceLine | None) -> list[Line]:
    if first is None:
        return []
    dash = "dash" if first.voided else "solid"
    lines = _line([first], name=f"{first.code}, outside", inside=False, colour="ink-3", dash="dot", key=False)
    inside = _line([first], name=first.code, inside=True, colour="ink", width_pt=2.0, dash=dash)
    end = Line(
        "",
        (float(first.displacement_mm[-1]),),
        (float(first.force_n[-1]),),
        "ink",
        key=False,
        end_label=first.code,
    )
    return [*lines, *inside, end]


def _averages(traces: Sequence[TraceLine], first: TraceLine | None) -> list[Line]:
    shown = traces if len(traces) <= _AVERAGES_UP_TO else [first] if first else []
    x: list[float | None] = []
    y: list[float | None] = []
    for trace in shown:
        if trace.span and trace.mean_n is not None:
            x += [*trace.span, None]
            y += [trace.mean_n, trace.mean_n, None]
    return [Line("average over the span", tuple(x), tuple(y), "series-2", dash="dashdot", width_pt=1.6)] if x else []


def _peaks(traces: Sequence[TraceLine], *, decimals: int) -> tuple[Points, ...]:
    looks = ((False, "peak", "circle", "stop"), (True, "peak of a trace not counted", "cross", "ink-3"))
    series = []
    for voided, name, symbol, colour in looks:
        members = [trace for trace in traces if trace.voided is voided]
        hover = tuple(_hover(trace, decimals=decimals) for trace in members)
        x, y = tuple(t.peak_mm for t in members), tuple(t.peak_n for t in members)
        series.append(Points(name, x, y, tuple(t.code for t in members), hover, symbol, colour))
    return tuple(points for points in series if points.x)


def _hover(trace: TraceLine, *, decimals: int) -> str:
    peak, place = fixed(trace.peak_n, decimals=decimals), fixed(trace.peak_mm, decimals=1)
    return f"{trace.code}: peak {peak} N at {place} mm"


def _spans(first: TraceLine | None, spans: set[tuple[float, float]]) -> tuple[Span, ...]:
    span = first.span if first else next(iter(spans)) if len(spans) == 1 else None
    if span is None:
        return ()
    low, high = span
    return (Span(low, high, f"{fixed(low, decimals=1)} mm", f"{fixed(high, decimals=1)} mm"),)


def _label(traces: Sequence[TraceLine], *, decimals: int) -> str:
    void = len(traces) - len(_counted_traces(traces))
    text = f"Line plot of force in newtons against displacement in millimetres, {counted(len(traces), 'trace')}"
    text += f", {void} of them not counted" if void else ""
    text += f". {_title(traces, decimals=decimals).replace(' N', ' newtons').replace(' mm', ' millimetres')}"
    ending = " Summary and data table follow."
    return cut(text, longest=LONGEST_LABEL - len(ending)) + ending


def _summary(traces: Sequence[TraceLine], *, decimals: int) -> tuple[str, ...]:
    sentences = [f"{counted(len(traces), 'trace')}. {_title(traces, decimals=decimals)}"]
    sentences += [_averaged(trace, decimals=decimals) for trace in traces if trace.analysed_points and len(traces) == 1]
    outside = [t for t in traces if t.span and not t.span[0] <= t.peak_mm <= t.span[1]]
    groups = (
        ("Peak outside the analysed span", outside),
        ("No span analysed", [trace for trace in traces if trace.span is None]),
        ("No average reported", [trace for trace in traces if trace.span and trace.mean_n is None]),
        ("Short file", [trace for trace in traces if _short(trace)]),
        ("Not counted (void or set aside)", [trace for trace in traces if trace.voided]),
    )
    for words, members in groups:
        if len(members) > _NAMED_UP_TO:
            sentences.append(f"{words}: {len(members)} of {len(traces)}; the table says which.")
        elif members:
            sentences.append(f"{words}: {', '.join(_hover(trace, decimals=decimals) for trace in members)}.")
    return tuple(sentences)


def _averaged(trace: TraceLine, *, decimals: int) -> str:
    if trace.span is None or trace.mean_n is None:
        return f"{trace.code} has no average."
    low, high = (fixed(end, decimals=1) for end in trace.span)
    mean = fixed(trace.mean_n, decimals=decimals)
    return f"Average force {mean} N, of {trace.analysed_points:,} points between {low} and {high} mm."


def _short(trace: TraceLine) -> bool:
    ends_early = trace.span is not None and max(trace.displacement_mm) < trace.span[1]
    return len(trace.displacement_mm) < SHORT_TRACE or ends_early


def _table(traces: Sequence[TraceLine], *, decimals: int) -> Table:
    columns = (
        "Specimen",
        "Peak, N",
        "Displacement at peak, mm",
        "Average, N",
        "Analysed span, mm",
        "Points",
        "State",
    )
    rows = tuple(_row(trace, decimals=decimals) for trace in traces)
    return Table("What was computed from every trace", columns, rows, tuple(trace.code for trace in traces))


def _row(trace: TraceLine, *, decimals: int) -> tuple[str, ...]:
    mean = "none" if trace.mean_n is None else fixed(trace.mean_n, decimals=decimals)
    span = " to ".join(fixed(end, decimals=1) for end in trace.span) if trace.span else "none"
    return (
        trace.code,
        fixed(trace.peak_n, decimals=decimals),
        fixed(trace.peak_mm, decimals=1),
        mean,
        span,
        str(len(trace.displacement_mm)),
        "not counted" if trace.voided else "counted",
    )
