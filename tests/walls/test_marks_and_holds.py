"""What is true but limited is kept with a mark; what somebody must decide is kept and waits."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from labrecords.actions import deviations, samples
from labrecords.actions.refusals import Refused
from labrecords.models import Deviation, DeviationDecision, EquipmentEvent, Refusal, Result
from tests import world as cast

LBF_N = Decimal("4.4482216152605")  # exact: NIST Special Publication 811 (2008), appendix B.8


@pytest.fixture
def world(laboratory):
    return laboratory


def test_below_the_cells_verified_range_is_kept_as_below(world):
    """The world's cell is verified from 0.5 N; 0.05 lbf/in over 25.4 mm is 0.222 N."""
    kept = cast.enter(world, typed="0.05")
    assert (kept.marks, kept.held) == (("below-verified",), ())
    assert kept.result.censored == "below"
    assert kept.result.censored_at == pytest.approx(Decimal("0.5") / LBF_N, abs=Decimal("1e-9"))
    assert kept.result.strength == Decimal("0.05")
    assert kept.result.peak_force_n == pytest.approx(0.05 * float(LBF_N), rel=1e-12)


def test_at_the_end_of_the_verified_range_is_not_below_it(world):
    """The control."""
    kept = cast.enter(world, typed="0.5", unit="N")
    assert (kept.marks, kept.result.censored, kept.result.censored_at) == ((), "", None)


def test_opened_before_the_test_is_a_result_without_a_number(world):
    kept = cast.enter(world, opened=True, typed="", unit="", modes=())
    assert kept.marks == ("opened-before-test",)
    result = Result.objects.get()
    assert (result.censored, result.censored_at) == ("below", None)
    assert (result.peak_force_n, result.strength, result.mean_force_n) == (None, None, None)


def test_above_the_capacity_is_kept_as_above_and_takes_the_cell_out(world):
    """The cell's capacity is 50 N, the weaker of the two; over 25.4 mm that is 11.24 lbf/in."""
    kept = cast.enter(world, typed="12.00")
    assert kept.marks == ("above-capacity",)
    assert kept.result.censored == "above"
    assert kept.result.censored_at == pytest.approx(50 / LBF_N, abs=Decimal("1e-9"))
    taken = EquipmentEvent.objects.get(equipment=world.cell)
    assert taken.kind == EquipmentEvent.OUT
    assert world.specimens[0].label in taken.reason
    with pytest.raises(Refused) as refused:
        cast.enter(world, specimen=world.specimens[1])
    assert refused.value.codes == ("out-of-service",)


def test_above_the_verified_range_is_kept_as_above_and_the_cell_stays(world):
    """Verified up to 8 N only, of 50; 2 lbf/in over 25.4 mm is 8.896 N."""
    cast.calibrate(world.people, world.cell, world.at, performed_on=date(2026, 2, 1), verified_high_n=8.0)
    kept = cast.enter(world, typed="2.00")
    assert (kept.marks, kept.result.censored) == (("above-verified",), "above")
    assert kept.result.censored_at == pytest.approx(8 / LBF_N, abs=Decimal("1e-9"))
    assert not EquipmentEvent.objects.exists()
    assert cast.enter(world, specimen=world.specimens[1], typed="8", unit="N").marks == ()


def test_at_the_capacity_is_not_above_it(world):
    """The control: the cell stays in service and takes the next one."""
    assert cast.enter(world, typed="50", unit="N").marks == ()
    assert cast.enter(world, specimen=world.specimens[1]).marks == ()


def test_a_strip_that_broke_has_no_average(world):
    kept = cast.enter(world, modes=("BR",))
    assert kept.marks == ("no-average",)
    assert (kept.result.mean_force_n, kept.result.mean_strength) == (None, None)
    assert (kept.result.censored, kept.result.strength) == ("", Decimal("1.52"))


def test_marks_stand_together(world):
    kept = cast.enter(world, typed="0.05", modes=("BR",))
    assert kept.marks == ("below-verified", "no-average")
    assert Result.objects.get().marks == ["below-verified", "no-average"]


def condition_again(world):
    samples.condition(
        lot=world.specimens[0].pack.lot,
        started_at=world.at - timedelta(hours=39),
        temperature_c=23,
        humidity_percent=50,
        place="room 2",
        by=world.runa,
        at=world.at - timedelta(hours=39),
    )


def test_too_short_a_conditioning_is_kept_and_held(world):
    condition_again(world)  # 39 h before the test; the set-up asks for 40
    kept = cast.enter(world)
    assert (kept.marks, kept.held) == ((), ("not-conditioned",))
    deviation = Deviation.objects.get(result=kept.result)
    assert deviation.code == "not-conditioned"
    facts = deviation.facts["facts"]
    assert (float(facts["hours"]), float(facts["wanted"])) == (39, 40)


@pytest.mark.parametrize(
    ("room", "held"),
    [
        ({"room_c": 20.9}, True),
        ({"room_c": 25.1}, True),
        ({"room_humidity_percent": 44.9}, True),
        ({"room_humidity_percent": 55.1}, True),
        ({"room_c": 21.0, "room_humidity_percent": 55.0}, False),
        ({"room_c": 25.0, "room_humidity_percent": 45.0}, False),
    ],
)
def test_a_room_outside_the_methods_limits_holds_and_one_on_them_does_not(world, room, held):
    """The world's method asks for 21 to 25 °C and 45 to 55 % RH, ends included."""
    kept = cast.enter(world, run=cast.open_run(world, **room))
    assert kept.held == (("room-outside-limits",) if held else ())
    assert Deviation.objects.count() == held


@pytest.fixture
def held(world):
    """A result that two things hold."""
    condition_again(world)
    kept = cast.enter(world, run=cast.open_run(world, room_c=27.0))
    assert kept.held == ("not-conditioned", "room-outside-limits")
    return kept


def decide(deviation, by, *, words="Looked at.", counts=True):
    return deviations.decide(deviation=deviation, counts=counts, words=words, by=by, at=cast.NOW)


def test_each_of_two_things_is_decided_by_itself(world, held):
    first, second = Deviation.objects.filter(result=held.result).order_by("code")
    decide(first, world.edda)
    assert DeviationDecision.objects.get().deviation == first
    decide(second, world.magnus, counts=False)
    assert DeviationDecision.objects.filter(counts=False).get().deviation == second


def test_whoever_entered_it_does_not_decide_it(world):
    kept = cast.enter(world, run=cast.open_run(world, room_c=27.0), entered_by=world.edda)
    with pytest.raises(Refused) as refused:
        decide(kept.result.deviations.get(), world.edda)
    assert refused.value.codes == ("same-person",)
    assert Refusal.objects.get().codes == ["same-person"]
    assert not DeviationDecision.objects.exists()
    decide(kept.result.deviations.get(), world.sefa)  # the control: somebody else does


def test_whoever_tested_it_does_not_decide_it(world):
    """Edda may decide deviations, and is authorised to test as well."""
    cast.authorise(world.edda, world.method, by=world.magnus, at=world.at)
    run = cast.open_run(world, room_c=27.0, person=world.edda)
    kept = cast.enter(world, run=run, tested_by=world.edda, entered_by=world.runa)
    with pytest.raises(Refused) as refused:
        decide(kept.result.deviations.get(), world.edda)
    assert refused.value.codes == ("same-person",)
    assert not DeviationDecision.objects.exists()


def test_a_decision_has_words_and_is_made_once(world, held):
    deviation = Deviation.objects.filter(result=held.result).first()
    with pytest.raises(Refused) as refused:
        decide(deviation, world.sefa, words="  ")
    assert refused.value.codes == ("words-missing",)
    decide(deviation, world.sefa)
    with pytest.raises(Refused) as refused:
        decide(deviation, world.magnus, counts=False)
    assert refused.value.codes == ("state-refused",)
    assert DeviationDecision.objects.get().counts
