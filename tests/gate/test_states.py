"""What may be done in a study depends on its state; a refused act changes nothing."""

from datetime import timedelta

import pytest

from labrecords.actions import corrections, deviations, photos, samples, traces, voids
from labrecords.actions.refusals import Refused
from labrecords.models import (
    Conditioning,
    Correction,
    CustodyEvent,
    DeviationDecision,
    Lot,
    Photo,
    PhotoAside,
    Refusal,
    Result,
    Specimen,
    Study,
    TraceFile,
    Void,
)
from labrecords.rules.study_states import ACTS_IN, STEPS
from tests import world as cast
from tests.photos.pictures import png


@pytest.fixture
def world(laboratory):
    return laboratory


def receive(world):
    words = dict.fromkeys(("description", "condition", "sealed_how", "sampled_by", "sampled_on", "place"), "x")
    samples.receive(study=world.study, name="L1", received_at=world.at, by=world.runa, at=world.at, **words)


def condition(world):
    lot = world.specimens[0].pack.lot
    samples.condition(
        lot=lot,
        started_at=world.at,
        temperature_c=23,
        humidity_percent=50,
        place="room",
        by=world.runa,
        at=world.at,
    )


def cut(world):
    samples.cut(lot=world.specimens[0].pack.lot, place="bench", by=world.runa, at=world.at)


def receive_file(world):
    traces.receive_file(study=world.study, name="a.csv", content=b"1,2\n", by=world.runa, at=world.at)


def void(world):
    voids.void(specimen=world.specimens[1], cause="cut", words="Nicked.", by=world.runa, at=world.at)


def replace(world):
    specimen = world.specimens[1]
    voids.replace(specimen=specimen, pack=specimen.pack, by=world.runa, at=world.at)


def decide(world):
    deviation = world.deviation
    deviations.decide(deviation=deviation, counts=True, words="Kept.", by=world.edda, at=world.at)


def correct(world):
    asked = {"reason": "typing", "words": "w", "typed": "1.53", "unit": "lbf/in", "modes": ("AP",)}
    corrections.ask(specimen=world.specimens[0], by=world.runa, at=world.at, **asked)


def attach(world):
    photos.attach(specimen=world.specimens[0], name="other.png", content=png("other"), by=world.runa, at=world.at)


def set_photo_aside(world):
    photos.set_aside(photo=world.photo, reason="Another strip.", by=world.runa, at=world.at)


DOERS = {
    "attach a photograph": attach,
    "set a photograph aside": set_photo_aside,
    "correct a result": correct,
    "receive a lot": receive,
    "condition a lot": condition,
    "cut specimens": cut,
    "receive a trace file": receive_file,
    "void a specimen": void,
    "replace a specimen": replace,
    "decide a deviation": decide,
}
KEPT = (
    Correction,
    Result,
    Lot,
    Conditioning,
    CustodyEvent,
    Specimen,
    TraceFile,
    Void,
    DeviationDecision,
    Photo,
    PhotoAside,
)


def counts():
    return [model.objects.count() for model in KEPT]


def test_every_act_bound_to_states_is_tried():
    assert DOERS.keys() == ACTS_IN.keys()


def begin(world):
    """A result that waits for a decision, with a photograph."""
    kept = cast.enter(world, run=cast.open_run(world, room_c=30.0))
    world.deviation = kept.result.deviations.get()
    specimen = world.specimens[0]
    world.photo = photos.attach(specimen=specimen, name="strip.png", content=png(), by=world.runa, at=world.at)


@pytest.mark.parametrize("act", DOERS)
def test_once_released_nothing_is_added(world, act):
    begin(world)
    Study.objects.filter(pk=world.study.pk).update(state="in review")
    for state in ("reviewed", "released"):
        Study.objects.filter(pk=world.study.pk).update(state=state)
    before = counts()
    with pytest.raises(Refused) as refused:
        DOERS[act](world)
    assert refused.value.codes == ("state-refused",)
    assert counts() == before
    assert Refusal.objects.get().codes == ["state-refused"]


@pytest.mark.parametrize(
    "act",
    [
        *("condition a lot", "receive a trace file", "void a specimen", "decide a deviation"),
        *("attach a photograph", "set a photograph aside"),
    ],
)
def test_while_testing_it_is(world, act):
    """The control."""
    begin(world)
    before = counts()
    DOERS[act](world)
    assert sum(counts()) > sum(before)


def test_states_named_are_states():
    assert frozenset().union(*ACTS_IN.values()) <= STEPS.keys()


@pytest.mark.parametrize("shift", [timedelta(days=-30), timedelta(days=1)])
def test_conditioning_begins_between_receipt_and_now(world, shift):
    before = counts()
    with pytest.raises(Refused):
        samples.condition(
            lot=world.specimens[0].pack.lot,
            started_at=world.at + shift,
            temperature_c=23,
            humidity_percent=50,
            place="room",
            by=world.runa,
            at=world.at,
        )
    assert counts() == before
