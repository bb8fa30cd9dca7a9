"""Contrast of every pair of colours that meet on a page, in both themes.

Sources: the formulas of relative luminance and contrast ratio, and the thresholds 4.5 for text (1.4.3) and
3 for parts and shapes (1.4.11), are those of the Web Content Accessibility Guidelines 2.2 (from memory).
"""

import pathlib
import re

import pytest

TOKENS = pathlib.Path(__file__).parents[2] / "static/css/tokens.css"
GROUNDS = ("page", "panel", "sunk")
STATES = ("stop", "due", "ok", "wait", "idle")

TEXT = [
    *((ink, ground) for ink in ("ink", "ink-2", "ink-3", "act", "act-hi") for ground in GROUNDS),
    *((f"{state}-text", f"{state}-tint") for state in STATES),
    *(("stop-text", ground) for ground in ("page", "panel")),
    ("ink", "act-tint"),
    ("act-hi", "act-tint"),
    ("act", "act-tint"),
    ("ink", "due-tint"),
    ("on-act", "act"),
    ("on-act", "act-hi"),
]
SHAPES = [
    *(("edge", ground) for ground in GROUNDS),
    *(("act", ground) for ground in GROUNDS),
    *((f"{state}-shape", ground) for state in STATES for ground in ("page", "panel", f"{state}-tint")),
    *((f"series-{n}", "panel") for n in range(1, 6)),
]


def themes(css):
    """Light and dark tokens of a style sheet, each a mapping of name to six hexadecimal digits."""
    light, dark = css.split("prefers-color-scheme: dark", 1)
    found = [dict(re.findall(r"--([\w-]+):\s*#([0-9A-Fa-f]{6});", part)) for part in (light, dark)]
    return {"light": found[0], "dark": found[0] | found[1]}


def luminance(digits):
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def ratio(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def too_faint(tokens):
    """Each pair under its threshold, with the ratio it has."""
    wanted = [(pair, 4.5) for pair in TEXT] + [(pair, 3.0) for pair in SHAPES]
    ratios = [(pair, ratio(tokens[pair[0]], tokens[pair[1]]), least) for pair, least in wanted]
    return {pair: round(value, 2) for pair, value, least in ratios if value < least}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_pair_of_a_theme_can_be_read(theme):
    assert too_faint(themes(TOKENS.read_text())[theme]) == {}


def test_dark_theme_gives_every_colour_of_the_light_one_anew():
    light, dark = TOKENS.read_text().split("prefers-color-scheme: dark", 1)
    assert set(re.findall(r"--[\w-]+(?=:\s*#)", light)) == set(re.findall(r"--[\w-]+(?=:\s*#)", dark))


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ("000000", "FFFFFF", 21.0),  # the largest ratio there is, by the definition of contrast ratio
        ("777777", "777777", 1.0),  # the smallest, by the same definition
        ("767676", "FFFFFF", 4.54),  # the lightest grey that passes for text on white (from memory)
        ("777777", "FFFFFF", 4.48),  # one step lighter fails (from memory)
    ],
)
def test_ratio_of_known_pairs(one, other, expected):
    assert ratio(one, other) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize(
    ("name", "pale", "pair"),
    [("ink-3", "9AA3A4", ("ink-3", "panel")), ("edge", "C9CCCC", ("edge", "panel"))],
)
def test_a_pale_colour_is_found(name, pale, pair):
    tokens = themes(TOKENS.read_text())["light"]
    assert pair not in too_faint(tokens)
    assert pair in too_faint(tokens | {name: pale})
