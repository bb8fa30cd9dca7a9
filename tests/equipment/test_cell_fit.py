"""Which load cell fits: ranked by what it would give at the weak end, noise measured on its newest traces."""

import pytest

from labrecords.actions import runs, voids
from labrecords.actions.results import TraceChoice
from labrecords.files.sniff import sniff
from labrecords.management.demo.peel import as_text, peel_trace
from labrecords.models import Run
from labrecords.queries import cell_fit
from tests import world as cast
from tests.equipment.conftest import refused


def add_cell(world, name, capacity_n, **fields):
    return cast.add_equipment(world.people, "cell", name, capacity_n, world.at, **fields)


def ranked(world, weak=4.0, strong=20.0):
    return cell_fit.ranked(weak_n=weak, strong_n=strong, noise_share=0.01, moment=world.at)


def test_the_best_fit_comes_first_and_what_does_not_fit_last(world):
    add_cell(world, "Cell 25 N", 25.0, noise_n=0.001)
    add_cell(world, "Cell 500 N", 500.0, verified_low_n=5.0, noise_n=0.1)
    add_cell(world, "Cell 10 N", 10.0, noise_n=0.0005)
    fits = ranked(world)
    assert [fit.item.name for fit in fits[:2]] == ["Cell 25 N", "Cell 50 N"]
    told = {fit.item.name: {answer.code for answer in fit.answers} for fit in fits}
    assert told["Cell 500 N"] == {"cell-too-large", "small-share"}
    assert told["Cell 10 N"] == {"cell-too-small"}
    assert told["Cell 25 N"] == set()
    # twice the noise over the force, nothing else being known: 2 * 0.001 / 4
    assert fits[0].uncertainty == pytest.approx(0.0005, rel=1e-3)


def test_a_small_share_of_capacity_alone_does_not_stop(world):
    add_cell(world, "Cell 400 N", 400.0, verified_low_n=1.0, noise_n=0.01)
    fit = next(fit for fit in ranked(world) if fit.item.name == "Cell 400 N")
    assert {answer.code for answer in fit.answers} == {"small-share"}
    assert not fit.hinders


def test_a_cell_past_its_date_is_ranked_behind(world):
    add_cell(world, "Cell 25 N", 25.0, noise_n=0.001, due_on=cast.date(2026, 5, 19))
    fits = ranked(world)
    assert [fit.item.name for fit in fits] == ["Cell 50 N", "Cell 25 N"]
    assert fits[1].stops[0].code == "calibration-overdue"


def traced(world, *, capacity_n, count):
    """Traces whose noise grows with the capacity of the cell that is said to have taken them."""
    for number, specimen in enumerate(world.specimens[:count]):
        pulled = peel_trace(
            seed=number,
            mean_force_n=6.0,
            peel_travel_mm=20.0,
            cell_capacity_n=capacity_n,
            rate_mm_min=279.4,
            sampling_hz=50.0,
        )
        content = as_text([pulled], codes=[specimen.label], rate="11 in/min", technique="A", width="25.4 mm").encode()
        file = cast_file(world, number, content)
        choice = TraceChoice(file, 1, sniff(content).layout.to_json())
        cast.enter(world, specimen=specimen, typed="", unit="", trace=choice, confirmed=("odd-trace",))


def cast_file(world, number, content):
    from labrecords.actions import traces

    made = traces.receive_file(study=world.study, name=f"{number}.csv", content=content, by=world.runa, at=world.at)
    return made.file


def test_noise_is_measured_once_there_are_traces_enough(world, monkeypatch):
    monkeypatch.setattr(cell_fit, "FEWEST_TRACES", 4)
    traced(world, capacity_n=400.0, count=3)
    assert cell_fit.measured_noise(world.cell) is None
    (fit,) = ranked(world)
    assert fit.noise_n == 0.002  # the calibration's
    traced_more = world.specimens[3:]
    world.specimens = traced_more
    traced(world, capacity_n=400.0, count=1)
    noise = cell_fit.measured_noise(world.cell)
    assert noise.traces == 4
    assert noise.noise_n > 0.05
    (fit,) = ranked(world)
    assert fit.noise == noise
    assert fit.hinders  # more than a hundredth of 4 N


def test_a_run_is_stopped_by_the_noise_that_was_measured(world, monkeypatch):
    monkeypatch.setattr(cell_fit, "FEWEST_TRACES", 4)
    traced(world, capacity_n=400.0, count=4)
    with refused("cell-too-large", Run):
        cast.open_run(world)
    accepted = cast.open_run(world, cell_accepted_by=world.edda, cell_accepted_why="A trial of the cell.")
    assert accepted.cell_accepted_why
    runs.close_run(run=accepted, by=world.runa, at=world.at)


def test_forces_of_earlier_studies_leave_out_what_waits_or_is_void(world):
    for specimen, typed in zip(world.specimens[:3], ("1.20", "1.60", "0.90"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    voids.void(specimen=world.specimens[2], cause="cut", words="Nicked.", by=world.magnus, at=world.at)
    cast.enter(world, specimen=world.specimens[3], typed="2.50", run=cast.open_run(world, room_c=27.0))
    (found,) = cell_fit.earlier_forces()
    # 1.20 and 1.60 lbf/in over one inch
    assert (found.weak_n, found.strong_n) == pytest.approx((1.2 * 4.4482216152605, 1.6 * 4.4482216152605))
