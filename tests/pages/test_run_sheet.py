"""The run sheet, what a label means at the bench, and a trace that waits for its specimen."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labrecords.models import Entry, Refusal, Result, Trace
from labrecords.queries import lab
from labrecords.rules import labels
from tests import world as cast
from tests.pages.test_bench import entry, post, receive, trace_file, usual


@pytest.fixture
def world(laboratory, client):
    client.force_login(laboratory.runa)
    return laboratory


def address(world):
    return reverse("run-sheet", args=[world.run.pk])


def sent(client, world, **changed):
    """The sheet as it comes, with what is typed in it."""
    answer = client.get(address(world))
    formset = answer.context["formset"]
    data = {"rows-TOTAL_FORMS": len(formset.forms), "rows-INITIAL_FORMS": len(formset.forms)}
    data |= {"unit": "lbf/in", "tested_at": answer.context["head"]["tested_at"].value().strftime("%Y-%m-%dT%H:%M")}
    for number, form in enumerate(formset.forms):
        data |= {f"rows-{number}-specimen": form["specimen"].value(), f"rows-{number}-key": form["key"].value()}
    return data | changed


def test_rows_are_those_of_the_plan(client, world):
    page = client.get(address(world)).content.decode()
    places = [page.index(f">{specimen.label}<") for specimen in world.specimens]
    assert places == sorted(places)
    assert page.count("To do") == len(world.specimens)


def test_filled_rows_are_kept_and_empty_ones_left_alone(client, world):
    typed = {"rows-0-typed": "1.52", "rows-0-modes": "ap", "rows-2-typed": "1.61", "rows-2-modes": "AP, co"}
    answer = client.post(address(world), sent(client, world, **typed))
    assert answer.status_code == 302
    assert "Kept: 2 results." in client.get(answer.url).content.decode()
    kept = {result.specimen.label: (result.recorded, result.modes) for result in Result.objects.all()}
    assert kept == {
        world.specimens[0].label: ("1.52", ["AP"]),
        world.specimens[2].label: ("1.61", ["AP", "CO"]),
    }


def test_each_refusal_stands_beside_its_row_and_nothing_typed_is_lost(client, world):
    typed = {
        "rows-0-typed": "1.52",
        "rows-0-modes": "AP",
        "rows-1-typed": "a lot",
        "rows-1-modes": "AP",
        "rows-1-remark": "crooked",
        "rows-2-typed": "1.44",
        "rows-2-modes": "QQ",
    }
    answer = client.post(address(world), sent(client, world, **typed))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "1 of 3 rows kept." in page
    assert Result.objects.get().specimen == world.specimens[0]
    rows = {row["place"].specimen.label: row for row in answer.context["rows"]}
    second, third = (rows[specimen.label] for specimen in world.specimens[1:3])
    assert [panel["code"] for panel in second["outcome"].refusals] == list(Refusal.objects.get().codes)
    assert {name: second["form"][name].value() for name in ("typed", "modes", "remark")} == {
        "typed": "a lot",
        "modes": "AP",
        "remark": "crooked",
    }
    assert "“QQ” is none of" in third["outcome"].problems[0]
    assert third["form"]["typed"].value() == "1.44"
    for specimen in world.specimens[1:3]:
        assert f'id="said-{specimen.label}"' in page
        assert f'aria-describedby="said-{specimen.label}"' in page


def test_the_same_sheet_sent_twice_keeps_one_result_a_row(client, world):
    data = sent(client, world, **{"rows-0-typed": "1.52", "rows-0-modes": "AP"})
    assert client.post(address(world), data).status_code == 302
    assert client.post(address(world), data).status_code == 302
    assert Result.objects.count() == 1


def test_a_row_that_is_not_of_the_plan_is_not_kept(client, world):
    typed = {"rows-0-typed": "1.52", "rows-0-modes": "AP", "rows-0-specimen": labels.label("SP", 999_999)}
    answer = client.post(address(world), sent(client, world, **typed))
    assert answer.status_code == 422
    assert "nothing stands in any row" in answer.content.decode()
    assert not Result.objects.exists()


def test_without_a_time_nothing_is_kept(client, world):
    typed = {"tested_at": "", "rows-0-typed": "1.52", "rows-0-modes": "AP"}
    answer = client.post(address(world), sent(client, world, **typed))
    assert answer.status_code == 422
    assert not Result.objects.exists()
    assert answer.context["formset"].forms[0]["typed"].value() == "1.52"


def test_a_row_has_its_own_time(client, world):
    typed = {"rows-0-typed": "1.52", "rows-0-modes": "AP", "rows-0-at": "25:99"}
    answer = client.post(address(world), sent(client, world, **typed))
    assert "Type the time as 14:30." in answer.content.decode()
    assert answer.context["formset"].forms[0]["at"].value() == "25:99"
    assert not Result.objects.exists()
    opened = timezone.localtime(world.run.opened_at, lab.zone())
    later = opened + timedelta(minutes=3)
    typed |= {"rows-0-at": f"{later:%H:%M}", "tested_at": f"{opened:%Y-%m-%dT%H:%M}"}
    answer = client.post(address(world), sent(client, world, **typed))
    assert answer.status_code == 302
    assert Result.objects.get().tested_at == later.replace(second=0, microsecond=0)


def test_a_value_that_waits_is_not_shown_to_whoever_decides(client, world):
    warm = cast.open_run(world, room_c=30.0)
    cast.enter(world, run=warm, typed="1.3781")
    assert "1.3781" in client.get(address(world)).content.decode()
    client.force_login(world.edda)
    page = client.get(address(world)).content.decode()
    assert "1.3781" not in page
    assert "not shown" in page


def told(client, world, text):
    return client.get(reverse("run-label", args=[world.run.pk]), {"text": text}).json()


def test_what_a_label_means(client, world):
    first, second = (specimen.label for specimen in world.specimens[:2])
    cast.enter(world, typed="1.52")
    assert told(client, world, second.replace("-", ""))["go"].endswith(f"?specimen={second}")
    assert told(client, world, second)["verdict"] == "ok"
    done = told(client, world, first)
    assert done["verdict"] == "check"
    assert f"Already recorded: {first} has 1.52 lbf/in" in done["words"]
    cell = told(client, world, world.run.cell.label)
    assert cell["verdict"] == "stop"
    assert f"That is the label of a load cell, {world.run.cell.name}" in cell["words"]
    wrong = second[:-1] + ("A" if second[-1] != "A" else "B")
    assert "misread" in told(client, world, wrong)["words"]
    assert "not the label of a specimen here" in told(client, world, labels.label("SP", 999_999))["words"]


def test_a_value_far_from_the_others_is_kept_by_a_tick_beside_its_row(client, world):
    run, strip = usual(world)
    where = reverse("run-sheet", args=[run.pk])

    def row(page, **typed):
        forms = page.context["formset"].forms
        number = next(place for place, form in enumerate(forms) if form["specimen"].value() == strip.label)
        given = {"specimen": strip.label, "key": forms[number]["key"].value(), "modes": "AP"} | typed
        head = {"unit": "lbf/in", "tested_at": f"{timezone.localtime(world.at):%Y-%m-%dT%H:%M}"}
        counts = {"rows-TOTAL_FORMS": len(forms), "rows-INITIAL_FORMS": len(forms)}
        return head | counts | {f"rows-{number}-{name}": value for name, value in given.items()}

    asked = client.post(where, row(client.get(where), typed="14.8"))
    assert asked.status_code == 422
    [press] = [shown["outcome"].press for shown in asked.context["rows"] if shown["outcome"]]
    assert f'value="{press}"' in asked.content.decode()
    assert not Result.objects.filter(specimen=strip).exists()
    other = client.post(where, row(asked, typed="14.9", confirmed=press))
    assert "Is 14.9 lbf/in ten times too large?" in other.content.decode()
    assert not Result.objects.filter(specimen=strip).exists()
    assert client.post(where, row(other, typed="14.8", confirmed=press)).status_code == 302
    assert Entry.objects.get(result__specimen=strip).noticed == ["factor-of-ten"]


def test_a_label_does_not_tell_a_value_that_waits(client, world):
    warm = cast.open_run(world, room_c=30.0)
    cast.enter(world, run=warm, typed="1.3781")
    client.force_login(world.edda)
    answer = told(client, world, world.specimens[0].label)
    assert "a result that waits for a decision" in answer["words"]
    assert "1.3781" not in answer["words"]


def bench(client, world, specimen):
    return client.get(reverse("run", args=[world.run.pk]), {"specimen": specimen.label})


@pytest.fixture
def traced(client, world):
    """The second specimen, for which a trace has come in a file of its own; and the name of that trace."""
    receive(client, world, trace_file(world, specimens=world.specimens[1:2]))
    return world.specimens[1], bench(client, world, world.specimens[1]).context["form"]["trace"].value()


def test_a_trace_that_waits_is_shown_and_kept_with_its_mode(client, world, traced):
    specimen, carried = traced
    page = bench(client, world, specimen).content.decode()
    assert "From the trace:" in page
    assert 'class="peak"' in page
    assert post(client, world, entry(world, specimen=specimen.label, typed="", trace=carried)).status_code == 302
    trace = Trace.objects.select_related("result__specimen").get()
    assert (trace.result.specimen, trace.segment) == (specimen, 1)
    assert "From the trace:" not in bench(client, world, specimen).content.decode()


def test_no_trace_is_shown_beside_another_specimen(client, world, traced):
    assert "From the trace:" not in bench(client, world, world.specimens[0]).content.decode()


def test_the_trace_of_another_specimen_is_never_kept_with_this_one(client, world, traced):
    answer = post(client, world, entry(world, specimen=world.specimens[0].label, typed="", trace=traced[1]))
    assert answer.status_code == 422
    assert "is not one that waits for" in answer.content.decode()
    assert not Result.objects.exists()


def test_a_typed_force_beside_its_trace_must_agree(client, world, traced):
    answer = post(client, world, entry(world, specimen=traced[0].label, typed="9.9", trace=traced[1]))
    assert answer.status_code == 422
    assert "trace" in Refusal.objects.get().codes[0]
    assert not Result.objects.exists()


def test_a_file_that_somebody_must_look_at_first_is_not_offered(client, world):
    """Two tables one below the other: whose is whose is confirmed on the page of the file."""
    receive(client, world, trace_file(world))
    assert "From the trace:" not in bench(client, world, world.specimens[0]).content.decode()
