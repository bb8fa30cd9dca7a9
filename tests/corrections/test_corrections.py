"""Corrections: the next version of a result, with a reason and, where it matters, a second person. Nothing is lost."""

from decimal import Decimal

import pytest
from django.db import transaction

from labrecords.actions import corrections, deviations, review, runs, trail, voids
from labrecords.actions.refusals import Refused
from labrecords.models import Correction, CorrectionDecision, Event, Result, Study
from labrecords.queries import corrections as found
from labrecords.queries import numbers
from labrecords.queries.access import NotAllowed
from labrecords.reports.findings import findings, findings_sha256
from tests import world as cast
from tests.equipment.conftest import refused
from tests.walls import rows
from tests.walls.refused import refused_as


@pytest.fixture
def world(laboratory):
    cast.enter(laboratory, specimen=laboratory.specimens[0], typed="1.25")
    return laboratory


def ask(world, strip=0, **changed):
    given = {"reason": "typing", "words": "The display said 1.52.", "typed": "1.52", "unit": "lbf/in", "modes": ("AP",)}
    given |= {"by": world.runa}
    return corrections.ask(specimen=world.specimens[strip], at=world.at, **given | changed)


def decide(world, correction, **changed):
    given = {"agreed": True, "words": "The sheet says so.", "by": world.sefa}
    return corrections.decide(correction=correction, at=world.at, **given | changed)


def close(world):
    return runs.close_run(run=world.run, by=world.runa, at=world.at)


def stands(world, strip=0):
    return found.latest(world.specimens[strip])


def test_a_slip_in_an_open_run_is_corrected_at_once_and_both_versions_stay(world):
    ask(world)
    new, old = found.versions(world.specimens[0])
    assert (new.revision, new.recorded, new.strength, new.supersedes) == (2, "1.52", Decimal("1.52"), old)
    assert (old.revision, old.recorded) == (1, "1.25")
    assert new.marks == ["corrected"]
    assert (new.run, new.tested_at, new.tested_by) == (old.run, old.tested_at, old.tested_by)
    assert Event.objects.filter(act="correction.asked").count() == 1
    body = Event.objects.filter(act="result.kept").latest("id").body
    assert '"1.25 lbf/in"' in body
    assert '"1.52 lbf/in"' in body


def test_only_the_last_version_counts(world):
    ask(world)
    (group,) = numbers.study_numbers(world.study)
    assert [line.strength for line in group.lines if line.counts] == [Decimal("1.52")]


def test_a_correction_is_corrected_in_its_turn(world):
    ask(world)
    ask(world, typed="1.53")
    assert [row.recorded for row in found.versions(world.specimens[0])] == ["1.53", "1.52", "1.25"]


def test_once_the_run_is_closed_a_second_person_must_agree(world):
    close(world)
    asked = ask(world)
    assert stands(world).revision == 1
    assert list(found.waiting()) == [asked]
    decide(world, asked)
    assert (stands(world).recorded, stands(world).revision) == ("1.52", 2)
    assert not found.waiting().exists()


@pytest.mark.parametrize(("before", "after"), [("0.95", "1.20"), ("1.20", "0.95"), ("0.90", "0.95")])
def test_where_a_value_outside_a_limit_is_touched_a_second_person_agrees_in_an_open_run_too(world, before, after):
    cast.enter(world, specimen=world.specimens[1], typed=before)
    ask(world, strip=1, typed=after)
    assert stands(world, 1).recorded == before
    assert found.waiting().count() == 1


def test_a_correction_not_agreed_to_changes_nothing(world):
    close(world)
    asked = ask(world)
    kept = decide(world, asked, agreed=False, words="The sheet says 1.25.")
    assert not kept.agreed
    assert (stands(world).recorded, Result.objects.filter(revision=2).count()) == ("1.25", 0)
    with refused("already-decided", CorrectionDecision, Result):
        decide(world, asked)


def test_whoever_asked_or_pulled_does_not_agree(world):
    close(world)
    asked = ask(world, by=world.edda)
    with refused("same-person", CorrectionDecision, Result):
        decide(world, asked, by=world.edda)
    world.runa.groups.add(*world.edda.groups.all())
    del world.runa._roles
    with refused("same-person", CorrectionDecision, Result):
        decide(world, asked, by=world.runa)
    decide(world, asked)


def test_who_may_ask_and_agree(world):
    for person in (world.magnus, world.signe, world.clara):
        with pytest.raises(NotAllowed):
            ask(world, by=person)
    close(world)
    asked = ask(world)
    for person in (world.timo, world.signe):
        with pytest.raises(NotAllowed):
            decide(world, asked, by=person)
    assert stands(world).revision == 1


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"words": " "}, "words-missing"),
        ({"typed": "1.25", "modes": ("AP",)}, "nothing-corrected"),
        ({"typed": "1,5x"}, "not-a-number"),
        ({"typed": ""}, "no-value"),
        ({"modes": ()}, "no-mode"),
        ({"modes": ("ZZ",)}, "mode-unknown"),
        ({"typed": "-1"}, "negative"),
        ({"opened": True}, "opened-with-force"),
        ({"unit": "N/15mm"}, "unit-mismatch"),
    ],
)
def test_what_the_gate_would_refuse_no_correction_brings_in(world, changed, code):
    with refused(code, Correction, Result):
        ask(world, **changed)


def test_an_opened_seal_is_corrected_to_a_value_and_back(world):
    ask(world, typed="", unit="", modes=(), opened=True)  # an opened seal lies below every limit: somebody agrees
    (asked,) = found.waiting()
    decide(world, asked)
    assert (stands(world).marks, stands(world).strength) == (["opened-before-test", "corrected"], None)


def test_a_value_below_the_verified_range_is_marked_anew(world):
    asked = ask(world, typed="0.05")
    decide(world, asked)
    assert stands(world).censored == "below"
    assert stands(world).marks == ["below-verified", "corrected"]


def test_a_trace_s_maximum_is_not_typed_over_but_its_mode_is_looked_at_again(world):
    choice = rows.trace_choice(world)
    cast.enter(world, specimen=world.specimens[1], typed="", unit="", trace=choice)
    before = stands(world, 1)
    with refused("trace-keeps-value", Correction, Result):
        ask(world, strip=1, typed="1.52")
    ask(world, strip=1, typed="", unit="", modes=("BR",), reason="mode", words="The web tore.")
    after = stands(world, 1)
    assert (after.strength, after.recorded, after.source) == (before.strength, before.recorded, "trace")
    assert (after.modes, after.mean_strength) == (["BR"], None)
    ask(world, strip=1, typed="", unit="", modes=("CO",), reason="mode", words="It split after all.")
    assert stands(world, 1).mean_strength == before.mean_strength


def test_a_void_specimen_and_one_that_waits_are_not_corrected(world):
    voids.void(specimen=world.specimens[0], cause="cut", words="Nicked.", by=world.magnus, at=world.at)
    with refused("specimen-void", Correction):
        ask(world)
    warm = cast.open_run(world, room_c=27.0)
    kept = cast.enter(world, run=warm, specimen=world.specimens[1])
    with refused("not-correctable", Correction):
        ask(world, strip=1, typed="1.60")
    deviations.decide(
        deviation=kept.result.deviations.get(), counts=False, words="Too warm.", by=world.edda, at=world.at
    )
    with refused("not-correctable", Correction):
        ask(world, strip=1, typed="1.60")


def test_one_correction_of_a_result_waits_at_a_time(world):
    close(world)
    ask(world)
    with refused("correction-open", Correction):
        ask(world, typed="1.60")


def finish(world):
    for strip in world.specimens[1:]:
        cast.enter(world, specimen=strip, typed="1.40")
    close(world)
    review.finish_testing(study=world.study, by=world.edda, at=world.at)
    return Study.objects.get(pk=world.study.pk)


def accept(world, study):
    seen = findings_sha256(findings(study))
    return review.review(study=study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)


def test_a_study_is_not_accepted_while_a_correction_waits_and_is_not_corrected_after(world):
    study = finish(world)
    asked = ask(world)
    with refused("correction-open"):
        accept(world, study)
    decide(world, asked, by=world.magnus)
    accept(world, study)
    with refused("state-refused", Correction):
        ask(world, typed="1.60")


def test_a_reviewer_who_has_read_the_old_value_must_read_again(world):
    study = finish(world)
    seen = findings_sha256(findings(study))
    decide(world, ask(world), by=world.magnus)
    with refused("content-changed"):
        review.review(study=study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)


def test_the_report_tells_every_correction(world):
    close(world)
    decide(world, ask(world))
    (row,) = findings(world.study)["corrections"]
    assert row["specimen"] == world.specimens[0].label
    assert (row["before"], row["after"]) == ("1.25", "1.52")
    assert row["why"] == "slip of the keys: The display said 1.52."
    assert row["by"] == "Runa Vik; agreed to by Sefa Brandt"


def test_a_void_since_keeps_a_waiting_correction_from_being_made(world):
    close(world)
    asked = ask(world)
    voids.void(specimen=world.specimens[0], cause="cut", words="Nicked.", by=world.magnus, at=world.at)
    with refused("specimen-void", CorrectionDecision, Result):
        decide(world, asked)


# --- the same rules in the database


def next_version(world, **changed):
    old = stands(world)
    names = [field.attname for field in Result._meta.fields if field.name != "id"]
    fields = {name: getattr(old, name) for name in names}
    fields |= {"revision": 2, "supersedes_id": old.pk, "recorded": "1.60", "strength": Decimal("1.60")}
    with transaction.atomic():
        made = Result.objects.create(**fields | changed)
        trail.write("result.kept", subject="specimen", by=world.runa, at=world.at, after={"id": made.pk})


def written(world):
    """A correction as a script might write it."""
    with transaction.atomic():
        made = Correction.objects.create(
            result=stands(world),
            reason="typing",
            words="w",
            typed="1.60",
            unit="lbf/in",
            modes=["AP"],
            opened=False,
            by=world.runa,
            at=world.at,
        )
        trail.write("correction.asked", subject="specimen", by=world.runa, at=world.at, after={"id": made.pk})
    return made


def test_no_version_gets_in_without_a_correction(world):
    with refused_as("corrected-otherwise"):
        next_version(world)
    next_version(world, correction_id=written(world).pk)  # the control


@pytest.mark.parametrize("name", ["technique", "rate", "width_mm", "tested_by_id", "tested_at"])
def test_no_version_changes_how_the_strip_was_pulled(world, name):
    other = {"technique": "C", "rate": Decimal("10"), "width_mm": Decimal("15")}
    other |= {"tested_by_id": world.timo.pk, "tested_at": world.at - cast.timedelta(minutes=1)}
    with refused_as("corrected-otherwise"):
        next_version(world, correction_id=written(world).pk, **{name: other[name]})


def test_in_a_closed_run_no_version_gets_in_that_nobody_agreed_to(world):
    asked = written(world)
    close(world)
    with refused_as("correction-open"):
        next_version(world, correction_id=asked.pk)


def test_a_script_s_own_agreement_does_not_get_in(world):
    asked = written(world)
    with refused_as("same-person"), transaction.atomic():
        CorrectionDecision.objects.create(correction=asked, agreed=True, words="w", by=world.runa, at=world.at)


def test_a_refused_correction_leaves_its_refusal_and_nothing_else(world):
    before = Result.objects.count()
    with pytest.raises(Refused) as caught:
        ask(world, typed="much")
    assert caught.value.refusal.act == "correct a result"
    assert Result.objects.count() == before
