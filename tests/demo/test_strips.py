"""The strips of the demo: the same seed gives the same pulls, and they are what the plan says."""

import copy
from statistics import mean

import numpy as np
import pytest

from labrecords.files.reader import read
from labrecords.files.sniff import sniff
from labrecords.management.demo import inputs
from labrecords.management.demo.strips import file_text, strip, trace
from labrecords.rules.labels import label
from labrecords.stats import units
from labrecords.stats.traces import measured_rate, reduce_trace


@pytest.fixture
def script():
    return next(study for study in inputs.studies() if study["key"] == "two lots")


def pulls(script):
    return [strip(script, lot="K2207", number=number, group=1) for number in range(1, 11)]


def test_the_same_inputs_give_the_same_strips_and_bytes(script):
    again = copy.deepcopy(script)
    assert pulls(script) == pulls(again)
    assert len({pull.seed for pull in pulls(script)}) == 10
    texts = [
        file_text([trace(pulls(one)[0], one["setup"], capacity_n=50.0)], one["setup"], codes=["x"])
        for one in (script, again)
    ]
    assert texts[0] == texts[1]


def test_another_seed_gives_other_strips(script):
    other = script | {"seed": script["seed"] + 1}
    assert all(one.mean_force_n != two.mean_force_n for one, two in zip(pulls(script), pulls(other), strict=True))


def test_strips_lie_about_the_mean_of_their_group(script):
    many = [strip(script, lot="K2211", number=number, group=3).mean_force_n for number in range(100, 500)]
    strengths = [units.strength(force, 25.4, "lbf/in") for force in many]
    # 400 values: the standard error of the mean is a twentieth of the spread of 0.08
    assert mean(strengths) == pytest.approx(1.36, abs=4 * 0.08 / 20)
    assert np.std(strengths, ddof=1) == pytest.approx(0.08, rel=0.2)


def test_a_strip_is_what_the_fixtures_say_of_it(script):
    tear, slip = (strip(script, lot="K2207", number=number, group=1) for number in (7, 16))
    opened = strip(script, lot="K2211", number=14, group=4)
    assert (tear.kind, tear.modes) == ("tear", ("BS",))
    assert (slip.kind, opened.kind, opened.modes) == ("slip", "opened", ())


@pytest.mark.parametrize(("rate", "mm_min"), [(None, 279.4), (12, 304.8)])  # exact: 1 in = 25.4 mm
def test_a_pull_runs_at_the_rate_asked_for(script, rate, mm_min):
    pull = trace(pulls(script)[0], script["setup"], capacity_n=50.0, rate=rate)
    assert measured_rate(pull.displacement_mm, pull.time_s) == pytest.approx(mm_min, rel=1e-4)


@pytest.mark.parametrize("layout", ["comma", "semicolon"])
def test_a_file_says_what_was_pulled(script, layout):
    pull = pulls(script)[0]
    made = trace(pull, script["setup"], capacity_n=50.0)
    code = label("SP", 7)
    data = file_text([made], script["setup"], codes=[code], layout=layout, unit="N").encode()
    (segment,) = read(data, sniff(data).layout, name="pull.csv").segments
    assert [str(found) for found in segment.codes] == [code]
    assert (segment.stated["rate"], segment.stated["technique"]) == ("11 in/min", "A")
    assert segment.stated["width"] == "25.4 mm"
    assert reduce_trace(segment.displacement_mm, segment.force_n).mean_force_n == pytest.approx(
        pull.mean_force_n, rel=0.03
    )
