"""Random layouts and random numbers, written by this test and found out and read back exactly."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labrecords.files.reader import read
from labrecords.files.sniff import sniff
from labrecords.rules.labels import label

# Exact by definition (NIST SP 811, appendix B): the pound-force, standard gravity, the inch.
FORCES = {"N": 1.0, "cN": 0.01, "lbf": 4.4482216152605, "gf": 0.00980665, "kgf": 9.80665}
LENGTHS = {"mm": 1.0, "cm": 10.0, "in": 25.4}
TIMES = {"s": 1.0, "min": 60.0}
SIGNS = [
    (",", "."),
    (";", "."),
    (";", ","),
    ("\t", "."),
    ("\t", ","),
    ("|", "."),
    ("|", ","),
    ("  ", "."),
    (" ", ","),
]

forces = st.floats(-1000, 1000, allow_subnormal=False)
steps = st.floats(0, 2, allow_subnormal=False)


@dataclass(frozen=True)
class Shape:
    """How a file is written."""

    delimiter: str
    decimal: str
    ends: str
    encoding: str
    units_in_names: bool
    order: tuple[str, ...]
    units: dict[str, str]
    arrangement: str


@st.composite
def shapes(draw):
    delimiter, decimal = draw(st.sampled_from(SIGNS))
    return Shape(
        delimiter,
        decimal,
        ends=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16"])),
        units_in_names=draw(st.booleans()),
        order=tuple(draw(st.permutations(["displacement", "force", *draw(st.sampled_from([[], ["time"]]))]))),
        units={
            "force": draw(st.sampled_from(sorted(FORCES))),
            "displacement": draw(st.sampled_from(sorted(LENGTHS))),
            "time": draw(st.sampled_from(sorted(TIMES))),
        },
        arrangement=draw(st.sampled_from(["single", "columns", "blocks"])),
    )


@st.composite
def traces(draw, count):
    rows = draw(st.integers(10, 25))
    made = []
    for _ in range(count):
        travel = np.cumsum(draw(st.lists(steps, min_size=rows, max_size=rows)))
        force = np.array(draw(st.lists(forces, min_size=rows, max_size=rows)))
        made.append({"displacement": travel, "force": force, "time": travel / 5})
    return made


NAMES = {"displacement": "Extension", "force": "Load", "time": "Time"}


def heads(shape, times=1):
    """Lines of names, and of units if they stand apart."""
    names = [NAMES[role] for role in shape.order] * times
    units = [shape.units[role] for role in shape.order] * times
    if shape.units_in_names:
        return [shape.delimiter.join(f"{name} [{unit}]" for name, unit in zip(names, units, strict=True))]
    return [shape.delimiter.join(names), shape.delimiter.join(units)]


def cells(shape, trace, row):
    return [repr(float(trace[role][row])).replace(".", shape.decimal) for role in shape.order]


def rows_of(shape, group):
    """Rows of traces side by side."""
    count = len(group[0]["force"])
    return [shape.delimiter.join(cell for trace in group for cell in cells(shape, trace, row)) for row in range(count)]


def written(shape, group):
    if shape.arrangement == "columns":
        lines = ["Rate: 300 mm/min", *heads(shape, len(group)), *rows_of(shape, group)]
    else:
        lines = ["Rate: 300 mm/min"]
        for number, trace in enumerate(group, start=1):
            lines += ["", f"Specimen: {label('SP', number)}", *heads(shape), *rows_of(shape, [trace])]
    return (shape.ends.join(lines) + shape.ends).encode(shape.encoding)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(shape=shapes(), data=st.data())
def test_what_is_written_is_read_back(shape, data):
    group = data.draw(traces(count=1 if shape.arrangement == "single" else 3))
    content = written(shape, group)
    found = sniff(content)
    assert found.layout.arrangement == shape.arrangement
    assert found.stated["rate"] == "300 mm/min"
    segments = read(content, found.layout, name="x.txt").segments
    assert len(segments) == len(group)
    for segment, trace in zip(segments, group, strict=True):
        agree(segment.force_n, trace["force"], FORCES[shape.units["force"]])
        agree(segment.displacement_mm, trace["displacement"], LENGTHS[shape.units["displacement"]])
        if "time" in shape.order:
            agree(segment.time_s, trace["time"], TIMES[shape.units["time"]])
        else:
            assert segment.time_s is None


def agree(read_back, put_in, factor):
    """To the last bit where no unit is converted; else to the rounding of one multiplication."""
    if factor == 1:
        np.testing.assert_array_equal(read_back, put_in)
    else:
        np.testing.assert_allclose(read_back, put_in * factor, rtol=4e-16, atol=0)


def test_the_comparison_can_fail():
    with pytest.raises(AssertionError):
        agree(np.array([1.0]), np.array([1.0 + 1e-15]), 1)
