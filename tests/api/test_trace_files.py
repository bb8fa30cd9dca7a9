"""Results sent with the tester's file. The curves come from the demo's generator of peels."""

import json
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from labrecords.actions import studies, traces
from labrecords.files import sniff
from labrecords.management.demo import peel
from labrecords.models import Result, Trace, TraceFile
from tests import world as cast
from tests.api.conftest import entry
from tests.world import World

LOCKED_MM_MIN = 11 * 25.4


def curve(*, seed=1, rate_mm_min=LOCKED_MM_MIN, **changed):
    usual = {"mean_force_n": 8.0, "peel_travel_mm": 10.0, "cell_capacity_n": 50.0, "sampling_hz": 50.0}
    return peel.peel_trace(seed=seed, rate_mm_min=rate_mm_min, **usual | changed)


def text(codes, *, rate="11 in/min", technique="A", layout="comma", **changed):
    pulled = [curve(seed=seed, **changed) for seed, _ in enumerate(codes, 1)]
    return peel.as_text(pulled, codes=codes, rate=rate, technique=technique, width="25.4 mm", layout=layout)


def form(world, content, *, name="pull.csv", specimen=None, layout=None, segment=None, **changed):
    data = content if isinstance(content, bytes) else content.encode()
    parts = entry(world, specimen=specimen, **{"typed": "", "unit": ""} | changed)
    if layout is not None:
        parts["layout"] = layout if isinstance(layout, str) else json.dumps(layout)
    if segment is not None:
        parts["segment"] = segment
    return parts | {"file": SimpleUploadedFile(name, data, content_type="text/csv")}


def found(content):
    """How a file is read, for a person to confirm."""
    return sniff.sniff(content.encode()).layout.to_json()


@pytest.fixture
def labels(world):
    return [specimen.label for specimen in world.specimens]


def test_the_curve_gives_the_force(world, call, labels):
    answer = call().send_form(form(world, text(labels[:1])))
    assert answer.status_code == 201, answer.content
    shown = answer.json()["result"]
    assert (shown["source"], shown["recorded_unit"]) == ("trace", "N")
    # the file gives four decimals, and the generator's own maximum is the peak
    assert shown["peak_force_n"] == pytest.approx(curve().force_n.max(), abs=5.1e-5)
    assert shown["mean_force_n"] == pytest.approx(8.0, rel=0.02)
    trace = Trace.objects.get()
    assert (trace.file.name, trace.segment) == ("pull.csv", 1)
    assert trace.measured_rate_mm_min == pytest.approx(LOCKED_MM_MIN, rel=0.01)


def test_the_bytes_are_kept_as_they_came(world, call, labels):
    content = text(labels[:1]).replace("\n", "\r\n").encode()
    call().send_form(form(world, content))
    assert bytes(TraceFile.objects.get().content) == content


@pytest.mark.parametrize("rate_mm_min", [300.0, 250.0])
def test_a_file_pulled_at_another_rate(world, call, labels, rate_mm_min):
    """The header says the locked rate; the file's own time column does not."""
    answer = call().send_form(form(world, text(labels[:1], rate_mm_min=rate_mm_min)))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["rate-changed"])
    assert not Result.objects.exists()


def test_a_file_whose_header_says_another_rate(world, call, labels):
    answer = call().send_form(form(world, text(labels[:1], rate="300 mm/min")))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["rate-changed"])


def test_a_file_whose_header_says_another_technique(world, call, labels):
    answer = call().send_form(form(world, text(labels[:1], technique="C")))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["technique-changed"])


def test_a_repeat_with_the_same_file(world, call, labels):
    caller, content, key = call(), text(labels[:1]), uuid.uuid4()
    first, again = (caller.send_form(form(world, content, key=key)) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.content == again.content
    assert Result.objects.count() == TraceFile.objects.count() == 1


def jittered(content):
    """The same file with two rows of the plateau changed round in travel only: a step back of one reading."""
    lines = content.splitlines()
    rows = [place for place, line in enumerate(lines) if line[:1].isdigit()]
    one, other = rows[len(rows) // 2], rows[len(rows) // 2 + 1]
    first, second = lines[one].split(","), lines[other].split(",")
    # the column of travel is the one that grows by 0.093 mm a reading: 11 in/min, 50 readings a second
    steps = [float(b) - float(a) for a, b in zip(first, second, strict=True)]
    [travel] = [place for place, grown in enumerate(steps) if 0.092 < grown < 0.0945]
    step = float(second[travel]) - 0.04
    first[travel], second[travel] = second[travel], f"{step:.4f}"
    lines[one], lines[other] = ",".join(first), ",".join(second)
    return "\n".join(lines) + "\n"


def test_a_curve_that_was_put_in_order_is_asked_about_before_it_is_kept(world, call, labels):
    caller, content = call(), jittered(text(labels[:1]))
    asked = caller.send_form(form(world, content))
    assert (asked.status_code, asked.json()["codes"]) == (422, ["odd-trace"])
    assert "travel went back, by 1 small step, and the readings were put in order" in asked.json()["answers"][0]["why"]
    assert not Result.objects.exists()
    kept = caller.send_form(form(world, content) | {"confirmed": "odd-trace"})
    assert kept.status_code == 201, kept.content
    # nothing is averaged: the peak is a force that was read, the same as of the curve in order
    assert kept.json()["result"]["peak_force_n"] == pytest.approx(curve().force_n.max(), abs=5.1e-5)
    assert Trace.objects.get().reduction["put_in_order"] == 1


def test_the_same_key_with_another_file(world, call, labels):
    caller, key = call(), uuid.uuid4()
    caller.send_form(form(world, text(labels[:1]), key=key))
    answer = caller.send_form(form(world, text(labels[:1], mean_force_n=9.0), key=key))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["key-reused"])


def test_the_same_curve_for_another_specimen(world, call, labels):
    caller, content = call(), text(labels[:1])
    caller.send_form(form(world, content))
    answer = caller.send_form(form(world, content, specimen=labels[1], segment=1))
    assert (answer.status_code, answer.json()["codes"]) == (409, ["trace-reused"])


def test_a_typed_value_must_agree_with_the_curve(world, call, labels):
    caller, content = call(), text(labels[:1])
    answer = caller.send_form(form(world, content, typed="1.00", unit="N"))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["trace-disagrees"])
    typed = f"{curve().force_n.max():.2f}"
    assert caller.send_form(form(world, content, typed=typed, unit="N")).status_code == 201


def test_an_odd_curve_takes_a_second_look(world, call, labels):
    caller, content = call(), text(labels[:1], peel_travel_mm=45.0)
    answer = caller.send_form(form(world, content))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["odd-trace"])
    parts = form(world, content) | {"confirmed": ["odd-trace"]}
    assert caller.send_form(parts).status_code == 201


def test_several_modes_are_repeated_parts(world, call, labels):
    answer = call().send_form(form(world, text(labels[:1]), modes=("AP", "CO")))
    assert answer.json()["result"]["modes"] == ["AP", "CO"]


def test_the_curve_of_each_specimen_is_found_by_its_label(world, call, labels):
    caller, content = call(), text(labels[:2], layout="side-by-side")
    layout = found(content)
    answers = [caller.send_form(form(world, content, specimen=label, layout=layout)) for label in labels[:2]]
    assert [answer.status_code for answer in answers] == [201, 201]
    kept = Trace.objects.order_by("segment").values_list("segment", "result__specimen__label")
    assert list(kept) == [(1, labels[0]), (2, labels[1])]
    assert TraceFile.objects.count() == 1


@pytest.mark.parametrize("places", [[1], [1, 2]])
def test_a_file_that_names_other_specimens(world, call, labels, places):
    """The name of the file says one thing and the heading of the curve another: the heading is nearer."""
    content = text([labels[place] for place in places])
    answer = call().send_form(form(world, content, layout=found(content), name=f"{labels[0]}.csv"))
    assert (answer.status_code, answer.json()["code"]) == (422, "segment-unclear")
    assert not TraceFile.objects.exists()


def test_a_nameless_file_of_one_curve_is_the_specimens(world, call):
    assert call().send_form(form(world, text(["unnamed"]))).status_code == 201


def test_a_curve_that_is_not_there(world, call, labels):
    answer = call().send_form(form(world, text(labels[:1]), segment=2))
    assert (answer.status_code, answer.json()["codes"]) == (422, ["segment-unclear"])
    assert not TraceFile.objects.exists()


def test_a_file_that_may_be_read_two_ways_comes_back_with_questions(world, call, labels):
    """Two tables one below the other: a person says once that each is a specimen."""
    caller, content = call(), text(labels[:2])
    answer = caller.send_form(form(world, content))
    told = answer.json()
    assert (answer.status_code, set(told["codes"])) == (422, {"layout-uncertain"})
    assert not TraceFile.objects.exists()
    assert [reason["why"] for reason in told["answers"]] == list(sniff.sniff(content.encode()).uncertain)
    layout = told["answers"][0]["facts"]["layout"]
    assert caller.send_form(form(world, content, layout=layout)).status_code == 201


def test_the_testers_remembered_layout_answers_them(world, call, labels):
    caller, content = call(), text(labels[:2])
    traces.remember_layout(tester=world.tester, layout=found(content), by=world.runa, at=world.at)
    assert caller.send_form(form(world, content)).status_code == 201
    # a file of another kind is not read with it, and is certain by itself
    other = text(labels[1:2], layout="semicolon")
    assert caller.send_form(form(world, other, specimen=labels[1])).status_code == 201


NO_LAYOUT = [
    "{",
    "[]",
    "7",
    "{}",
    {"encoding": "utf-7"},
    {"width": "wide"},
    {"series": [{"force": -1}]},
    {"series": 3},
    {"marks": [["force"]]},
    {"delimiter": "#"},
    {"first_data_line": 0},
    {"more": 1},
]


def test_a_layout_that_is_none(world, call, labels):
    caller, content = call(), text(labels[:1])
    good = found(content)
    for wrong in NO_LAYOUT:
        layout = wrong if isinstance(wrong, str) else good | wrong
        answer = caller.send_form(form(world, content, layout=layout))
        told = answer.json()
        assert (wrong, answer.status_code, told["code"]) == (wrong, 400, "not-understood")
        assert all(reason["facts"]["field"].startswith("layout") for reason in told["answers"])
    assert caller.send_form(form(world, content, layout=good)).status_code == 201


UNREADABLE = {
    "too-short": lambda rows: rows[:9],
    "no-table": lambda rows: rows[:4],
    "not-a-number": lambda rows: [*rows[:40], "2.0000,x,1.0", *rows[40:]],
    "not-finite": lambda rows: [*rows[:40], "NaN,NaN,NaN", *rows[40:]],
    "goes-backwards": lambda rows: [*rows[:40], *rows[10:40]],
    "empty": lambda rows: [" "],
}


def test_a_file_that_cannot_be_read_leaves_nothing(world, call, labels):
    caller, rows = call(), text(labels[:1]).splitlines()
    for code, change in UNREADABLE.items():
        answer = caller.send_form(form(world, "\n".join(change(rows))))
        assert (answer.status_code, answer.json()["code"]) == (422, code)
    assert not TraceFile.objects.exists()
    assert not Result.objects.exists()


def test_the_line_is_named(world, call, labels):
    rows = text(labels[:1]).splitlines()
    answer = call().send_form(form(world, "\n".join([*rows[:40], "2.0000,x,1.0", *rows[40:]])))
    (reason,) = answer.json()["answers"]
    assert (reason["code"], reason["facts"]) == ("not-a-number", {"line": "41"})


def test_bytes_that_are_no_text(world, call):
    answer = call().send_form(form(world, bytes(range(256)) * 8))
    assert (answer.status_code, answer.json()["code"]) == (422, "binary")


def test_a_file_of_another_study(world, call, labels):
    other = World(world.at, world.people, world.method, world.tester, world.cell, world.project, study=None)
    other.study = studies.lock(study=cast.plan(other), by=world.edda, at=world.at)
    cast.open_run(other)
    content = text(labels[:1])
    traces.receive_file(study=other.study, name="a.csv", content=content.encode(), by=world.runa, at=world.at)
    answer = call().send_form(form(world, content))
    assert (answer.status_code, answer.json()["code"]) == (409, "file-elsewhere")


def test_too_much_at_a_time(world, call, labels, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 2000
    answer = call().send_form(form(world, text(labels[:1])))
    assert (answer.status_code, answer.json()["code"]) == (413, "too-large")
    assert not TraceFile.objects.exists()


def test_a_form_without_its_file(world, call):
    parts = form(world, b"")
    del parts["file"]
    (reason,) = call().send_form(parts).json()["answers"]
    assert (reason["code"], reason["facts"]) == ("field-required", {"field": "file"})
