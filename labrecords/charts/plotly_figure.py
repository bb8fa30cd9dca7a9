"""A figure as plotly's data and layout, for the study pages."""

import json
from html import escape

from .figure import LABEL_GAP, Axis, Bracket, Figure, LimitLine, Line, Points, Span, bracket_path, spread
from .palette import light

_SYMBOLS = {
    "circle": "circle",
    "square": "square",
    "diamond": "diamond",
    "pentagon": "pentagon",
    "hexagon": "hexagon2",
    "star": "star",
    "plus": "cross",
    "cross": "x-thin",
    "triangle": "triangle-up",
    "arrow-down": "arrow-bar-down",
    "arrow-up": "arrow-bar-up",
}
_PIXELS_PER_POINT = 4 / 3
_PLOT_WIDTH, _ABOVE, _AXIS, _KEY_ROW = 680, 40, 76, 26  # pixels
# Under everything, three names a row: as many rows as `_below` leaves room for.
_KEY = {
    "orientation": "h",
    "yref": "container",
    "y": 0,
    "yanchor": "bottom",
    "x": 0,
    "xanchor": "left",
    "entrywidth": 0.3,
    "entrywidthmode": "fraction",
}
_FONT = "Source Sans 3, system-ui, sans-serif"


def spec(figure: Figure) -> dict[str, object]:
    """Give `data`, `layout` and `label` of a figure, ready for JSON.

    Colours are those of the light theme; their names stand in the `meta` of every trace and of the
    layout (`meta.shapes`, `meta.annotations`, in order), so that the page can put its own in place.
    """
    import plotly.graph_objects as go

    data = [*(_line(line) for line in figure.lines), *(_points(points) for points in figure.points)]
    data += [_bracket(bracket, axis=figure.y, key=not n) for n, bracket in enumerate(figure.brackets)]
    layout = go.Layout(_layout(figure))
    plain = {
        "data": [go.Scatter(trace).to_plotly_json() for trace in data],
        "layout": layout.to_plotly_json(),
        "label": figure.label,
    }
    return json.loads(json.dumps(plain, allow_nan=False))


def _text(text: str) -> str:
    """Escape a text, since plotly reads tags and links in its labels."""
    return escape(text, quote=False).replace("\n", "<br>")


def _points(points: Points) -> dict[str, object]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": _text(points.name),
        "x": list(points.x),
        "y": list(points.y),
        "ids": list(points.codes),
        "hovertext": [_text(text) for text in points.hover],
        "hoverinfo": "text",
        "showlegend": points.key,
        "meta": {"colour": points.colour},
        "marker": {
            "symbol": _SYMBOLS[points.symbol] + ("" if points.filled else "-open"),
            "size": 9,
            "color": light(points.colour),
            "line": {"width": 1.5, "color": light(points.colour)},
        },
    }


def _line(line: Line) -> dict[str, object]:
    end = [*[""] * (len(line.x) - 1), _text(line.end_label + "\n ")] if line.end_label else None
    return {
        "type": "scatter",
        "mode": "lines+text" if end else "lines",
        "name": _text(line.name),
        "x": list(line.x),
        "y": list(line.y),
        "text": end,
        "textposition": "top left" if end else None,
        "connectgaps": False,
        "hoverinfo": "skip",
        "showlegend": line.key,
        "opacity": line.strength,
        "meta": {"colour": line.colour},
        "line": {
            "color": light(line.colour),
            "dash": line.dash,
            "width": line.width_pt * _PIXELS_PER_POINT,
            "simplify": False,
        },
    }


def _bracket(bracket: Bracket, *, axis: Axis, key: bool) -> dict[str, object]:
    x, y = bracket_path(bracket, axis=axis)
    mark = Line("tolerance bound", x, y, "ink", width_pt=1.8, key=key)
    return _line(mark) | {
        "legendgroup": "tolerance bound",
        "hoverinfo": "text",
        "hovertext": _text(bracket.label),
    }


def _below(figure: Figure) -> int:
    """Pixels under the plot: the axis, and the rows of the key, three names in each."""
    names = sum(series.key for series in (*figure.lines, *figure.points)) + bool(figure.brackets)
    return _AXIS + _KEY_ROW * -(-names // 3)


def _layout(figure: Figure) -> dict[str, object]:
    below = _below(figure)
    annotations = [*_limit_labels(figure), *_bracket_labels(figure), *_span_labels(figure)]
    shapes = [*(_span_shape(span) for span in figure.spans), *(_limit_shape(line) for line in figure.limits)]
    return {
        "separators": ".\u202f",
        "hovermode": "closest",
        "dragmode": False,
        "uirevision": "keep",
        "transition": {"duration": 0},
        "height": round(_PLOT_WIDTH * figure.aspect) + _ABOVE + below,
        "font": {"family": _FONT, "size": 14, "color": light("ink")},
        "paper_bgcolor": light("panel"),
        "plot_bgcolor": light("panel"),
        "margin": {"l": 64, "r": 150 if figure.limits else 32, "t": _ABOVE, "b": below},
        "legend": _KEY,
        "xaxis": _axis(figure.x) | {"showgrid": False},
        "yaxis": _axis(figure.y) | {"gridcolor": light("rule")},
        "shapes": shapes,
        "annotations": annotations,
        "meta": {
            "colour": "ink",
            "shapes": [str(shape["name"]) for shape in shapes],
            "annotations": [str(note["name"]) for note in annotations],
        },
    }


def _axis(axis: Axis) -> dict[str, object]:
    named = {
        "tickmode": "array",
        "tickvals": [at for at, _ in axis.ticks],
        "ticktext": [_text(t) for _, t in axis.ticks],
    }
    return {
        "title": {"text": _text(axis.label), "standoff": 8},
        "range": [axis.low, axis.high],
        "automargin": True,
        "ticks": "outside",
        "zeroline": False,
        "linecolor": light("edge"),
        "tickformat": f".{axis.decimals}f",
    } | (named if axis.ticks else {})


def _limit_shape(line: LimitLine) -> dict[str, object]:
    along = {"xref": "paper", "x0": 0, "x1": 1, "yref": "y", "y0": line.value, "y1": line.value}
    across = {"yref": "paper", "y0": 0, "y1": 1, "xref": "x", "x0": line.value, "x1": line.value}
    look = {"color": light("stop"), "width": 2, "dash": line.dash}
    return (along if line.axis == "y" else across) | {
        "type": "line",
        "layer": "below",
        "line": look,
        "name": "stop",
    }


def _limit_labels(figure: Figure) -> list[dict[str, object]]:
    rows = [line for line in figure.limits if line.axis == "y"]
    places = spread(tuple(line.value for line in rows), gap=2 * LABEL_GAP * figure.y.length)
    right = {"xref": "paper", "x": 1, "xanchor": "left", "yref": "y", "yanchor": "middle", "align": "left"}
    top = {"yref": "paper", "y": 1, "yanchor": "top", "xref": "x", "xanchor": "left", "align": "left"}
    notes = [right | {"y": place, "text": _text(line.label)} for line, place in zip(rows, places, strict=True)] + [
        top | {"x": line.value, "text": _text(line.label)} for line in figure.limits if line.axis == "x"
    ]
    return [note | _plain("stop") for note in notes]


def _bracket_labels(figure: Figure) -> list[dict[str, object]]:
    at = {"xref": "x", "yref": "y", "xanchor": "right", "yanchor": "bottom"}
    return [
        at | {"x": bracket.x, "y": bracket.value, "text": _text(bracket.label)} | _plain("ink")
        for bracket in figure.brackets
    ]


def _span_shape(span: Span) -> dict[str, object]:
    place = {"xref": "x", "x0": span.low, "x1": span.high, "yref": "paper", "y0": 0, "y1": 1}
    look = {"fillcolor": light("act-tint"), "line": {"color": light("act"), "width": 1}}
    return place | look | {"type": "rect", "layer": "below", "name": "act-tint act"}


def _span_labels(figure: Figure) -> list[dict[str, object]]:
    at = {"xref": "x", "yref": "paper", "y": 1, "yanchor": "bottom"}
    return [
        at | {"x": place, "xanchor": side, "text": _text(text)} | _plain("act")
        for span in figure.spans
        for place, side, text in ((span.low, "left", span.low_label), (span.high, "right", span.high_label))
    ]


def _plain(colour: str) -> dict[str, object]:
    return {"showarrow": False, "name": colour, "font": {"color": light(colour), "size": 13}}
