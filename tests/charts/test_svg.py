"""The printed figure: the same bytes each time, words as words, nothing too small for paper."""

import re
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import matplotlib
import pytest

from labrecords.charts.limits import Limit
from labrecords.charts.svg import svg
from labrecords.charts.values import GroupValues, individual_values

from .cast import figures


@cache
def drawn(name: str) -> bytes:
    return svg(figures()[name])


NAMES = ["values", "overlay", "probability"]


def texts(body: bytes) -> list[str]:
    return ["".join(node.itertext()) for node in ET.fromstring(body).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("name", NAMES)
def test_same_figure_gives_the_same_bytes(name):
    assert svg(figures()[name]) == drawn(name)


def test_another_figure_gives_other_bytes():
    assert len({drawn(name) for name in NAMES}) == len(NAMES)


def test_settings_of_the_process_make_no_difference_and_are_put_back():
    expected = drawn("values")
    with matplotlib.rc_context({"svg.fonttype": "path", "svg.hashsalt": None, "lines.linewidth": 9, "font.size": 20}):
        assert svg(figures()["values"]) == expected
        assert matplotlib.rcParams["font.size"] == 20


def test_threads_do_not_disturb_one_another():
    figure = figures()["probability"]
    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(lambda _: svg(figure), range(4))) == {drawn("probability")}


@pytest.mark.parametrize("name", NAMES)
def test_labels_stand_in_the_drawing_as_text(name):
    figure = figures()[name]
    written = texts(drawn(name))
    expected = [figure.x.label, figure.y.label]
    expected += [line for limit in figure.limits for line in limit.label.split("\n")]
    expected += [line for _, tick in (*figure.x.ticks, *figure.y.ticks) for line in tick.split("\n")]
    expected += [series.name for series in (*figure.lines, *figure.points) if series.key]
    expected += [bracket.label for bracket in figure.brackets]
    assert [text for text in expected if text not in written] == []


@pytest.mark.parametrize("name", NAMES)
def test_title_for_screen_readers_is_the_label(name):
    figure = figures()[name]
    assert ET.fromstring(drawn(name)).findtext("{http://www.w3.org/2000/svg}title") == figure.label


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_too_small_or_too_thin_for_paper(name):
    text = drawn(name).decode()
    sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)px", text)]
    widths = [float(width) for width in re.findall(r"stroke-width: ([\d.]+)", text)]
    assert min(sizes) >= 8
    assert min(widths) >= 0.5


def test_size_is_the_one_asked_for():
    root = ET.fromstring(svg(figures()["values"], width_mm=120, height_mm=80))
    # One inch is 25.4 mm and 72 points, exactly.
    assert float(root.get("width").removesuffix("pt")) == pytest.approx(120 / 25.4 * 72, abs=0.01)
    assert float(root.get("height").removesuffix("pt")) == pytest.approx(80 / 25.4 * 72, abs=0.01)


def test_dollar_signs_and_markup_are_text():
    hostile = r"$\frac{1}$ <b>&amp; --> "
    group = GroupValues(hostile, (7.0, 8.0), ("S-1", "S-2"), ("AP", "AP"))
    figure = individual_values([group], unit="$N$", decimals=1, limits=[Limit(5.0)])
    written = texts(svg(figure))
    assert any(hostile.strip() in text for text in written)
    assert "≥ 5.0 $N$" in written
