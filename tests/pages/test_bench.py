"""The bench: what is typed is kept or refused, and nothing typed is lost."""

import html
import re
import uuid
from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from labrecords.management.demo.peel import as_text, peel_trace
from labrecords.models import Entry, Refusal, Result, Trace, TraceFile, TraceLayout
from tests import loaded
from tests import world as cast

IN_PER_MIN = 11 * 25.4


@pytest.fixture
def world(laboratory):
    return laboratory


def entry(world, **changed):
    local = timezone.localtime(world.at).strftime("%Y-%m-%dT%H:%M")
    return {
        "specimen": world.specimens[0].label,
        "typed": "1.52",
        "unit": "lbf/in",
        "modes": ["AP"],
        "technique": "A",
        "rate": "11",
        "rate_unit": "in/min",
        "width_mm": "25.4",
        "tested_at": local,
        "remark": "",
        "confirmed": "",
        "key": str(uuid.uuid4()),
    } | changed


def post(client, world, data, person=None):
    client.force_login(person or world.runa)
    return client.post(reverse("run", args=[world.run.pk]), data)


def test_a_result_is_kept_and_acknowledged(client, world):
    answer = post(client, world, entry(world))
    assert answer.status_code == 302
    page = client.get(answer.url).content.decode()
    assert f"Kept: 1.52 lbf/in for {world.specimens[0].label}." in page
    assert Result.objects.get().strength == Decimal("1.52")


def test_pressing_twice_keeps_one(client, world):
    data = entry(world)
    post(client, world, data)
    assert post(client, world, data).status_code == 302
    assert Result.objects.count() == Entry.objects.count() == 1


def test_another_technique_is_refused_with_its_eight_parts_and_nothing_typed_is_lost(client, world):
    answer = post(client, world, entry(world, technique="C", typed="3.07", remark="plate"))
    page = answer.content.decode()
    assert answer.status_code in (403, 422)
    for part in ("You tried", "Rule", "Why", "What is kept", "Who can resolve it", "technique-changed"):
        assert part in page
    assert 'value="3.07"' in page
    assert 'value="plate"' in page
    assert Result.objects.count() == 0
    assert "technique-changed" in Refusal.objects.get().codes


def test_after_a_refusal_the_form_has_a_new_key(client, world):
    data = entry(world, rate="12")
    page = post(client, world, data).content.decode()
    key = re.search(r'name="key" value="([0-9a-f-]+)"', page)[1]
    assert key != data["key"]
    assert post(client, world, data | {"rate": "11", "key": key}).status_code == 302
    assert Result.objects.count() == 1


def test_letters_in_the_force_are_refused_as_a_whole(client, world):
    answer = post(client, world, entry(world, typed="9.3-000123-K"))
    assert answer.status_code == 422
    assert "9.3-000123-K" in answer.content.decode()
    assert Result.objects.count() == 0


def trace_file(world, *, rate=IN_PER_MIN, name="traces.csv", specimens=None, stated="11 in/min", peel_travel_mm=10.0):
    specimens = specimens or world.specimens[:2]
    traces = [
        peel_trace(
            seed=number,
            mean_force_n=7.0,
            peel_travel_mm=peel_travel_mm,
            cell_capacity_n=50.0,
            rate_mm_min=rate,
            sampling_hz=50.0,
        )
        for number, _ in enumerate(specimens)
    ]
    text = as_text(
        traces, codes=[item.label for item in specimens], rate=stated, technique="A", width="25.4 mm", layout="comma"
    )
    return SimpleUploadedFile(name, text.encode(), content_type="text/csv")


def receive(client, world, *files):
    client.force_login(world.runa)
    return client.post(reverse("receive-traces", args=[world.run.pk]), {"files": files})


def keep(client, world, file, count=2, **changed):
    """Confirm the curves as the page offers them, with a failure mode each."""
    url = reverse("match-traces", args=[world.run.pk, file.pk])
    page = client.get(url).content.decode()
    data = {"keep": "1", "curves-TOTAL_FORMS": count, "curves-INITIAL_FORMS": count}
    for number in range(count):
        name = f"curves-{number}"
        data |= {
            f"{name}-keep": "on",
            f"{name}-specimen": re.search(rf'name="{name}-specimen" value="([^"]+)"', page)[1],
            f"{name}-key": re.search(rf'name="{name}-key" value="([^"]+)"', page)[1],
            f"{name}-modes": ["AP"],
        }
    return client.post(url, data | changed)


def test_a_file_of_traces_is_matched_and_each_curve_goes_through_the_gate(client, world):
    answer = receive(client, world, trace_file(world))
    file = TraceFile.objects.get()
    assert answer.url == reverse("match-traces", args=[world.run.pk, file.pk])
    assert Result.objects.count() == 0
    page = keep(client, world, file).content.decode()
    assert page.count("Kept") >= 2
    assert Trace.objects.count() == Result.objects.count() == 2
    assert TraceLayout.objects.get().tester == world.tester
    trace = Trace.objects.select_related("result").first()
    assert trace.measured_rate_mm_min == pytest.approx(IN_PER_MIN, rel=0.01)
    assert trace.result.mean_force_n == pytest.approx(7.0, rel=0.05)


def test_the_samples_come_back_as_they_were_in_the_file(client, world):
    from labrecords.files.packing import unpack
    from labrecords.files.reader import read
    from labrecords.files.sniff import sniff

    receive(client, world, trace_file(world))
    file = TraceFile.objects.get()
    keep(client, world, file)
    data = bytes(file.content)
    segments = read(data, sniff(data).layout, name=file.name).segments
    for trace in Trace.objects.order_by("segment"):
        displacement, force, _ = unpack(bytes(trace.samples))
        assert np.array_equal(force, segments[trace.segment - 1].force_n)
        assert np.array_equal(displacement, segments[trace.segment - 1].displacement_mm)
        assert trace.result.peak_force_n == force.max()


def test_a_trace_pulled_at_another_rate_is_refused_whatever_its_header_says(client, world):
    receive(client, world, trace_file(world, rate=300.0, specimens=world.specimens[:1]))
    answer = keep(client, world, TraceFile.objects.get(), count=1)
    assert answer.status_code == 422
    assert "rate-changed" in Refusal.objects.get().codes
    assert Result.objects.count() == Trace.objects.count() == 0


def test_a_failure_mode_is_asked_for_before_anything_is_kept(client, world):
    receive(client, world, trace_file(world))
    answer = keep(client, world, TraceFile.objects.get(), **{"curves-1-modes": []})
    assert answer.status_code == 422
    assert "Choose how the strip came apart." in answer.content.decode()
    assert Result.objects.count() == 0


def test_of_two_files_the_unreadable_one_is_named_and_the_other_kept(client, world):
    bad = SimpleUploadedFile("notes.csv", b"a,b\nhello,there\n")
    page = receive(client, world, trace_file(world), bad).content.decode()
    assert "notes.csv" in page
    assert TraceFile.objects.count() == 1


def test_a_file_over_the_limit_is_not_read(client, world, settings):
    settings.TRACE_FILE_LIMIT_BYTES = 1000
    page = receive(client, world, trace_file(world)).content.decode()
    assert "the most is" in page
    assert TraceFile.objects.count() == 0


def test_the_cell_too_large_stops_when_the_run_is_opened(client, world):
    big = cast.add_equipment(
        world.people, "cell", "Cell 100 lbf", 444.8, world.at - timedelta(days=1), verified_low_n=4.5, noise_n=0.08
    )
    client.force_login(world.edda)
    data = {"tester": world.tester.label, "cell": big.label, "room_c": "23", "room_humidity_percent": "50"}
    cast.authorise(world.edda, world.method, by=world.magnus, at=world.at)
    url = reverse("open-run", args=[world.study.code])
    answer = client.post(url, data)
    assert answer.status_code == 422
    assert "cell-too-large" in answer.content.decode()
    assert world.study.runs.count() == 1
    answer = client.post(url, data | {"accept_cell": "Only the strong lot is pulled with it."})
    assert answer.status_code == 302
    assert world.study.runs.count() == 2


@pytest.mark.parametrize(("kind", "odd"), [("peel", False), ("slip", True)])
def test_a_slip_in_the_grip_asks_for_an_extra_press(client, world, kind, odd):
    trace = peel_trace(
        seed=4,
        mean_force_n=7.0,
        peel_travel_mm=10.0,
        cell_capacity_n=50.0,
        rate_mm_min=IN_PER_MIN,
        sampling_hz=50.0,
        kind=kind,
    )
    label = world.specimens[0].label
    text = as_text([trace], codes=[label], rate="11 in/min", technique="A", width="25.4 mm", layout="comma")
    receive(client, world, SimpleUploadedFile("one.csv", text.encode()))
    file = TraceFile.objects.get()
    keep(client, world, file, count=1)
    assert Result.objects.exists() is not odd
    if odd:
        assert Refusal.objects.get().codes == ["odd-trace"]
        keep(client, world, file, count=1, **{"curves-0-confirmed": "on"})
        assert Result.objects.exists()


def usual(world):
    """Five of eight strips kept, in a study of their own."""
    study = loaded.planned(world, [cast.GROUPS[0] | {"packs": 8}])
    loaded.received(world, study, ["L1"])
    run = cast.open_run(world, study=study)
    strips = list(study.specimens.order_by("label"))
    for strip, typed in zip(strips, ("1.52", "1.40", "1.45", "1.50", "1.48"), strict=False):
        cast.enter(world, specimen=strip, run=run, typed=typed)
    return run, strips[5]


def hidden(page, name):
    return re.search(rf'name="{name}" value="([^"]*)"', page)[1]


def ten_times(client, world):
    """The strip, where the value was sent, what was sent, and the page that asks about it."""
    run, strip = usual(world)
    client.force_login(world.runa)
    url = reverse("run", args=[run.pk])
    data = entry(world, specimen=strip.label, typed="14.8")
    return strip, url, data, client.post(url, data).content.decode()


def test_a_value_far_from_the_others_asks_for_an_extra_press(client, world):
    strip, url, data, page = ten_times(client, world)
    assert "Is 14.8 lbf/in ten times too large?" in page
    assert "Keep: this is what I saw" in page
    assert 'value="14.8"' in page
    assert not Result.objects.filter(specimen=strip).exists()
    pressed = data | {"key": hidden(page, "key"), "confirmed": hidden(page, "confirmed")}
    assert client.post(url, pressed).status_code == 302
    assert Entry.objects.get(result__specimen=strip).noticed == ["factor-of-ten"]


def test_the_press_counts_for_the_value_that_was_looked_at_only(client, world):
    strip, url, data, page = ten_times(client, world)
    other = data | {"key": hidden(page, "key"), "confirmed": hidden(page, "confirmed"), "typed": "14.9"}
    page = client.post(url, other).content.decode()
    assert "Is 14.9 lbf/in ten times too large?" in page
    assert not Result.objects.filter(specimen=strip).exists()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("6.7 N", "You typed N. This study records lbf/in. Enter the value in lbf/in."),
        ("9.31 N/15 mm", "You typed N/15 mm. This study records lbf/in."),
        ("1.52 furlongs", "is not a number"),
    ],
)
def test_another_unit_behind_the_number_is_refused_whole(client, world, typed, says):
    answer = post(client, world, entry(world, typed=typed))
    assert answer.status_code == 422
    page = html.unescape(answer.content.decode())
    assert says in page
    assert f'value="{typed}"' in page
    assert Result.objects.count() == 0


def test_the_units_own_name_behind_the_number_is_dropped(client, world):
    assert post(client, world, entry(world, typed="1.52 lbf/in")).status_code == 302
    kept = Result.objects.get()
    assert (kept.recorded, kept.recorded_unit, kept.strength) == ("1.52", "lbf/in", Decimal("1.52"))
