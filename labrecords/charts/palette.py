"""Colours by the names that the style sheet gives them, with their light values for paper."""

LIGHT = {
    "ink": "#1C2526",
    "ink-2": "#4A5658",
    "ink-3": "#5E696B",
    "edge": "#767F80",
    "rule": "#D3D0C6",
    "panel": "#FFFFFF",
    "act": "#0B5A6B",
    "act-tint": "#DDEBEE",
    "stop": "#9E1F1A",
    "series-1": "#0B5A6B",
    "series-2": "#B35713",
    "series-3": "#9A76D4",
    "series-4": "#569C85",
    "series-5": "#491418",
}


def light(name: str) -> str:
    """Give the light value of a named colour; ValueError for a name the style sheet does not have."""
    if name not in LIGHT:
        raise ValueError(f"Colour {name!r} is not one of {', '.join(LIGHT)}.")
    return LIGHT[name]
