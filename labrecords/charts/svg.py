"""A figure as SVG at millimetre size, for paper: light theme, readable in grey, the same bytes every time."""

import io
import threading
from typing import TYPE_CHECKING, Any

from .figure import LABEL_GAP, Axis, Figure, bracket_path, spread
from .palette import light

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MM_PER_INCH = 25.4
_SMALL_PT = 8.5
_ROW_MM = 4.2  # one row of the key
_LETTER_MM = 1.9  # one letter of the key, widest font
_HANDLE_MM = 14  # the line or marker before a text of the key, and the gap after it
_MARKERS = {
    "circle": "o",
    "square": "s",
    "diamond": "D",
    "pentagon": "p",
    "hexagon": "h",
    "star": "*",
    "plus": "P",
    "cross": "x",
    "triangle": "^",
}
_DASHES: dict[str, Any] = {
    "solid": "-",
    "dash": (0, (5, 2.5)),
    "dot": (0, (1, 1.8)),
    "dashdot": (0, (6, 2, 1, 2)),
}
# Text stays text, so that it can be searched and read aloud. Widths are measured in DejaVu Sans, which
# comes with matplotlib and is wide: in the narrower fonts named before it nothing grows out of its place.
_SETTINGS = {
    "svg.fonttype": "none",
    "svg.hashsalt": "labrecords",
    "font.family": ["DejaVu Sans"],
    "font.size": _SMALL_PT,
    "axes.linewidth": 0.6,
    "axes.unicode_minus": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
}
_MEASURED, _SHOWN = "'DejaVu Sans'", "'Source Sans 3', 'DejaVu Sans', sans-serif"
_one_at_a_time = threading.Lock()  # matplotlib's settings belong to the process, not to the thread


def svg(figure: Figure, *, width_mm: float = 170, height_mm: float | None = None) -> bytes:
    """Draw a figure as SVG; the height follows from the figure's own aspect if it is not given.

    The title and the summary are not drawn: the page and the report set them as text around it.
    """
    import matplotlib

    height_mm = height_mm or width_mm * figure.aspect + _ROW_MM * _key_rows(figure, width_mm=width_mm)
    size = (width_mm / _MM_PER_INCH, height_mm / _MM_PER_INCH)
    with _one_at_a_time, matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        drawn = _drawn(figure, size=size)
    return drawn.replace(_MEASURED, _SHOWN).encode()


def _drawn(figure: Figure, *, size: tuple[float, float]) -> str:
    from matplotlib.figure import Figure as Sheet

    sheet = Sheet(figsize=size, layout="constrained")
    axes = sheet.add_subplot()
    _draw_axes(axes, figure)
    for draw in (_draw_spans, _draw_limits, _draw_lines, _draw_points, _draw_brackets):
        draw(axes, figure)
    handles, names = axes.get_legend_handles_labels()
    if handles:
        columns = _key_columns(names, width_mm=size[0] * _MM_PER_INCH)
        place = {"loc": "outside lower left", "ncols": columns, "frameon": False, "handlelength": 2.6}
        key = sheet.legend(handles, names, **place)
        _literal(key.get_texts())
    out = io.StringIO()
    sheet.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Title": figure.label})
    return out.getvalue()


def _key_names(figure: Figure) -> list[str]:
    names = [series.name for series in (*figure.lines, *figure.points) if series.key]
    return [*names, "tolerance bound"] if figure.brackets else names


def _key_columns(names: list[str], *, width_mm: float) -> int:
    longest = max(map(len, names))
    return max(1, min(len(names), int(width_mm / (longest * _LETTER_MM + _HANDLE_MM))))


def _key_rows(figure: Figure, *, width_mm: float) -> int:
    names = _key_names(figure)
    return -(-len(names) // _key_columns(names, width_mm=width_mm)) if names else 0


def _literal(texts: Any) -> None:
    """Keep matplotlib from reading dollar signs as formulas."""
    for text in texts:
        text.set_parse_math(False)


def _draw_axes(axes: "Axes", figure: Figure) -> None:
    for axis, ours, set_ends in (
        (axes.xaxis, figure.x, axes.set_xlim),
        (axes.yaxis, figure.y, axes.set_ylim),
    ):
        set_ends(ours.low, ours.high)
        _literal([axis.set_label_text(ours.label)])
        _draw_ticks(axis, ours)
    axes.grid(visible=True, axis="y", color=light("rule"), linewidth=0.5)
    axes.set_axisbelow(True)


def _draw_ticks(axis: Any, ours: Axis) -> None:
    if ours.ticks:
        axis.set_ticks([at for at, _ in ours.ticks], [text for _, text in ours.ticks])
        _literal(axis.get_ticklabels())
    else:
        axis.set_major_formatter(lambda value, _: f"{value:.{ours.decimals}f}".replace("-", "−"))


def _draw_spans(axes: "Axes", figure: Figure) -> None:
    for span in figure.spans:
        axes.axvspan(span.low, span.high, facecolor=light("act-tint"), edgecolor="none", zorder=0)
        for place, text, side in ((span.low, span.low_label, "left"), (span.high, span.high_label, "right")):
            axes.axvline(place, color=light("act"), linewidth=0.7, zorder=1)
            _note(
                axes,
                text,
                place,
                1.0,
                transform=axes.get_xaxis_transform(),
                ha=side,
                va="bottom",
                color="act",
            )


def _draw_limits(axes: "Axes", figure: Figure) -> None:
    rows = [line for line in figure.limits if line.axis == "y"]
    places = spread(tuple(line.value for line in rows), gap=2 * LABEL_GAP * figure.y.length)
    right = {"transform": axes.get_yaxis_transform(), "ha": "left", "va": "center", "color": "stop"}
    for line, place in zip(rows, places, strict=True):
        axes.axhline(line.value, color=light("stop"), linestyle=_DASHES[line.dash], linewidth=1.2, zorder=1)
        _note(axes, line.label, 1.01, place, **right)
    top = {"transform": axes.get_xaxis_transform(), "ha": "center", "va": "bottom", "color": "stop"}
    for line in (line for line in figure.limits if line.axis == "x"):
        axes.axvline(line.value, color=light("stop"), linestyle=_DASHES[line.dash], linewidth=1.2, zorder=1)
        _note(axes, line.label, line.value, 1.01, **top)


def _draw_lines(axes: "Axes", figure: Figure) -> None:
    for line in figure.lines:
        axes.plot(
            _gaps(line.x),
            _gaps(line.y),
            color=light(line.colour),
            linestyle=_DASHES[line.dash],
            linewidth=max(line.width_pt, 0.5),
            alpha=line.strength,
            label=line.name if line.key else None,
            zorder=2,
        )
        if line.end_label:
            _note(
                axes,
                line.end_label + "\n",
                line.x[-1],
                line.y[-1],
                ha="right",
                va="bottom",
                color=line.colour,
            )


def _gaps(numbers: tuple[float | None, ...]) -> list[float]:
    return [float("nan") if number is None else number for number in numbers]


def _draw_points(axes: "Axes", figure: Figure) -> None:
    for points in figure.points:
        colour = light(points.colour)
        axes.plot(
            points.x,
            points.y,
            linestyle="none",
            marker=_marker(points.symbol),
            markersize=5,
            markeredgewidth=0.9,
            markeredgecolor=colour,
            markerfacecolor=colour if points.filled else "none",
            label=points.name if points.key else None,
            zorder=3,
        )


def _marker(symbol: str) -> Any:
    from matplotlib.path import Path

    if symbol in _MARKERS:
        return _MARKERS[symbol]
    up = 1 if symbol == "arrow-up" else -1
    corners = [(-1, -up), (1, -up), (0, -up), (0, 0), (-0.7, 0), (0, up), (0.7, 0), (0, 0)]
    pen = [Path.MOVETO, Path.LINETO, Path.MOVETO, *[Path.LINETO] * 5]
    return Path(corners, pen)


def _draw_brackets(axes: "Axes", figure: Figure) -> None:
    for number, bracket in enumerate(figure.brackets):
        x, y = bracket_path(bracket, axis=figure.y)
        name = None if number else "tolerance bound"
        axes.plot(_gaps(x), _gaps(y), color=light("ink"), linewidth=1.6, label=name, zorder=2)
        _note(axes, bracket.label, bracket.x - 0.02, bracket.value, ha="right", va="bottom", color="ink")


def _note(axes: "Axes", text: str, x: Any, y: Any, *, color: str, **place: Any) -> None:
    axes.text(x, y, text, color=light(color), fontsize=_SMALL_PT, parse_math=False, clip_on=False, **place)
