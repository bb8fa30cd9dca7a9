"""What the report says of a study, down to what a reader would otherwise have to ask."""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal

import pytest

from labrecords.actions import deviations, review, runs, samples, voids
from labrecords.actions.refusals import Refused
from labrecords.models import Deviation, Study
from labrecords.queries import reports
from labrecords.queries.numbers import study_numbers
from labrecords.reports import tables
from labrecords.reports.findings import findings
from tests import world as cast

UPPER = cast.LIMITS[0] | {"side": "upper", "value": Decimal("5.00"), "unit": "N/15mm"}


@pytest.fixture
def world(db, monkeypatch):
    monkeypatch.setattr(cast, "LIMITS", [*cast.LIMITS, UPPER])
    return cast.build()


def rows(world) -> dict[str, dict]:
    data = tables.results_csv(world.study, study_numbers(world.study)).decode()
    return {row["specimen"]: row for row in csv.DictReader(io.StringIO(data))}


def test_the_items_say_when_they_were_sampled_and_how_long_they_conditioned(world):
    cast.enter(world)
    (item,) = findings(world.study)["items"]
    assert item["sampled_on"] == "11 May 2026 (stated by the client)"
    # received and conditioned on 13 May at 09:00 UTC, tested on 20 May at the same hour: 7 days are 168 hours
    assert item["conditioned"] == ("since 13 May 2026, 10:00 IST, at 23 °C, 50 % RH: 168 hours before the first test")


def test_strips_pulled_before_and_after_the_conditioning_are_told_apart(world):
    (lot,) = world.study.lots.all()
    again = world.at + timedelta(hours=1)
    cast.enter(world)
    samples.condition(
        lot=lot, started_at=again, temperature_c=22, humidity_percent=48, place="room", by=world.runa, at=again
    )
    for specimen in world.specimens[1:3]:
        later = world.at + timedelta(hours=3)
        cast.enter(world, specimen=specimen, tested_at=later, at=later)
    # typed in afterwards: what was begun after its test says nothing about it
    assert cast.enter(world, specimen=world.specimens[3], tested_at=world.at, at=later).held == ()
    (item,) = findings(world.study)["items"]
    assert item["conditioned"] == (
        "2 strips since 13 May 2026, 10:00 IST, at 23 °C, 50 % RH: 168 hours before the first test; "
        "2 strips since 20 May 2026, 11:00 IST, at 22 °C, 48 % RH: 2 hours before the first test"
    )


def test_a_lot_not_tested_has_no_conditioning_time(world):
    (item,) = findings(world.study)["items"]
    assert item["conditioned"] == "not tested"


def test_a_limit_in_another_unit_is_printed_converted_too(world):
    lower, upper = findings(world.study)["limits"]
    assert lower["note"] == ""
    # 5 N/15 mm is 5 / 2.62690253 lbf/in, from the exact definitions of inch and pound-force
    assert upper["note"] == "in the unit of the results 1.90338 lbf/in"


def test_a_value_beside_a_limit_is_not_rounded_onto_it(world):
    cast.enter(world, typed="0.996")
    found = findings(world.study)
    assert found["results"][0]["maximum"] == found["groups"][0]["minimum"] == "0.996"
    assert "The weakest was 0.996 lbf/in" in " ".join(found["summary"])


def test_both_sides_are_counted(world):
    for specimen, typed in zip(world.specimens, ("0.9", "1.5", "1.95", "2.1"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    (group,) = findings(world.study)["groups"]
    assert (group["below_limit"], group["above_limit"]) == ("1", "2")


def test_remarks_and_measured_widths_are_printed(world):
    cast.enter(world, remark="edge a little frayed")
    assert findings(world.study)["results"][0]["remarks"] == ["edge a little frayed"]


def test_a_void_value_outside_a_limit_says_so(world):
    cast.enter(world, typed="0.80")
    cast.enter(world, specimen=world.specimens[1], typed="1.50")
    for specimen in world.specimens[:2]:
        voids.void(specimen=specimen, cause="slip", words="Slipped.", by=world.magnus, at=world.at)
    low, good = findings(world.study)["voids"]
    assert (low["value"], good["value"]) == ("0.80, which does not meet at least 1 lbf/in", "1.50")
    assert rows(world)[world.specimens[0].label]["why_not"] == "void: Slipped."


def test_a_value_set_aside_says_why_in_report_and_data(world):
    cast.enter(world, run=cast.open_run(world, room_c=30.0), typed="1.37")
    deviations.decide(
        deviation=Deviation.objects.get(), counts=False, words="Far too warm.", by=world.edda, at=world.at
    )
    found = findings(world.study)
    assert "set aside by decision, not counted" in found["results"][0]["marks"]
    assert "1 more is set aside by decision" in " ".join(found["summary"])
    row = rows(world)[world.specimens[0].label]
    assert (row["counts"], row["why_not"]) == ("no", "set aside: Far too warm.")
    assert row["deviations"] == "room-outside-limits"


def test_a_value_beyond_what_can_be_measured_is_no_number_in_the_data(world):
    cast.enter(world, typed="0.05")
    row = rows(world)[world.specimens[0].label]
    assert (row["maximum_force_N"], row["maximum_strength_lbf_per_in"], row["beyond"]) == ("", "", "below")
    assert (row["reading"], row["reading_unit"]) == ("0.05", "lbf/in")


def test_the_calibrations_are_those_of_the_days_of_the_tests(world):
    """The run was opened before the cell was calibrated anew; a strip was pulled on it before and after."""
    cast.enter(world)
    cast.calibrate(world.people, world.cell, world.at, performed_on=date(2026, 5, 21))
    later = world.at + timedelta(days=2)
    cast.enter(world, specimen=world.specimens[1], tested_at=later, at=later)
    used = [made.performed_on for item, made in reports.equipment_used(world.study) if item == world.cell]
    assert used == [date(2026, 1, 10), date(2026, 5, 21)]


def test_who_entered_is_not_said_to_have_tested(world):
    cast.enter(world, entered_by=world.timo)
    assert (reports.tested_by(world.study), reports.entered_only(world.study)) == (["Runa Vik"], ["Timo Aalto"])
    assert reports.testers(world.study) == ["Runa Vik", "Timo Aalto"]


def test_fewer_than_planned_needs_a_reason_which_is_printed(world):
    cast.enter(world)
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    with pytest.raises(Refused) as refused:
        review.finish_testing(study=world.study, by=world.edda, at=world.at, why_fewer=" ")
    assert refused.value.codes == ("words-missing",)
    assert "3 planned specimens have no result" in refused.value.answers[0].why
    study = Study.objects.get(pk=world.study.pk)
    assert (study.state, study.fewer_reason) == ("testing", "")
    review.finish_testing(study=study, by=world.edda, at=world.at, why_fewer="The client took them back.")
    said = " ".join(findings(Study.objects.get(pk=study.pk))["summary"])
    assert "4 were planned; 3 have no result that counts. The reason on record: The client took them back." in said


def test_a_replacement_comes_from_a_pack_of_which_no_other_strip_counts(world):
    first, second = world.specimens[:2]
    voids.void(specimen=first, cause="cut", words="Cut askew.", by=world.runa, at=world.at)
    with pytest.raises(Refused) as refused:
        voids.replace(specimen=first, pack=second.pack, by=world.runa, at=world.at)
    assert refused.value.codes == ("not-in-plan",)
    assert world.study.specimens.count() == 4
    made = voids.replace(specimen=first, pack=first.pack, by=world.runa, at=world.at)
    assert made.replaces == first
    with pytest.raises(Refused) as again:
        voids.replace(specimen=first, pack=first.pack, by=world.runa, at=world.at)
    assert again.value.codes == ("state-refused",)
    assert world.study.specimens.count() == 5


def test_values_nobody_can_judge_are_not_said_to_meet_a_limit(world):
    cast.enter(world, typed="1.5")
    (group,) = study_numbers(world.study)
    assert [verdict.unjudged for verdict in group.verdicts] == [0, 0]
    cast.enter(world, specimen=world.specimens[1], typed="12.5")  # above capacity: on which side of a higher limit?
    (group,) = study_numbers(world.study)
    lower, upper = group.verdicts
    assert (lower.unjudged, lower.outside, upper.unjudged, upper.outside) == (0, 0, 0, 1)
