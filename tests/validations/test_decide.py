"""From a validation study to authorisations: who agrees, who does not, and what the manager may make of it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction

from labrecords.actions import review
from labrecords.models import Authorisation, Event, PullPlace, Study, ValidationDecision
from labrecords.queries import validations
from labrecords.queries.access import NotAllowed, NotFound
from labrecords.reports.findings import findings, findings_sha256
from labrecords.stats import equivalence, precision
from tests import loaded
from tests import world as lab
from tests.equipment.conftest import refused
from tests.validations import cast
from tests.walls.refused import refused_as


@pytest.fixture
def world(laboratory):
    return laboratory


def verdicts(study):
    return {one.name: one.verdict for one in validations.read(study).people}


def strips_of(study):
    """What each person read of each pack, straight from the table."""
    found = {}
    for place in PullPlace.objects.filter(order__study=study).select_related("person", "specimen__pack"):
        result = place.specimen.results.get()
        found.setdefault(place.person.name, {})[place.specimen.pack.label] = float(result.strength)
    return found


def test_all_who_agree_are_authorised_with_the_study_as_evidence(validated):
    world, study, who = validated
    found = validations.read(study)
    assert (found.passed, found.why) == (True, "Every criterion is met.")
    assert set(verdicts(study).values()) == {"agrees"}
    cast.decided(world, study, who.values())
    granted = Authorisation.objects.filter(study=study)
    assert {(one.person.name, one.technique, one.evidence_kind) for one in granted} == {
        (name, "A", "validation") for name in cast.NAMES
    }
    assert Event.objects.filter(act="validation.decided", subject=f"study {study.code}").count() == 1
    assert Event.objects.filter(act="person.authorised", subject__in=["person ann", "person di"]).count() == 2
    # and they may open a run in any study of that method from then on
    plain = loaded.planned(world, lab.GROUPS)
    run = lab.open_run(world, study=plain, person=who["Bo"], by=who["Bo"], at=world.at + timedelta(days=1))
    assert run.person == who["Bo"]


def test_each_person_is_held_against_the_others_within_the_packs(validated):
    _, study, _ = validated
    read = strips_of(study)
    (ann,) = (one for one in validations.read(study).people if one.name == "Ann")
    mine = list(read["Ann"].values())
    rest = [sum(read[name][pack] for name in ("Bo", "Cy", "Di")) / 3 for pack in read["Ann"]]
    expected = equivalence.paired_equivalence(mine, rest, low=-0.08, high=0.08)
    (held,) = ann.standing.held
    assert held.how == "within packs"
    assert (held.difference, held.low, held.high) == pytest.approx(
        (expected.difference, expected.interval.low, expected.interval.high), rel=1e-12
    )


def test_criteria_are_computed_from_the_strips_of_those_who_agree(one_apart):
    _, study, _ = one_apart
    found = validations.read(study)
    read = {name: list(row.values()) for name, row in strips_of(study).items() if name != "Di"}
    of_three = precision.interlaboratory(read)
    rows = {row.kind: met.percent for row, (met,) in found.criteria}
    assert rows["repeatability"] == pytest.approx(100 * of_three.s_r / of_three.mean, rel=1e-12)
    assert rows["intermediate"] == pytest.approx(100 * of_three.s_R / of_three.mean, rel=1e-12)
    # the limit is 1.00 lbf/in, at least
    assert rows["limit share"] == pytest.approx(300 * of_three.s_R / (of_three.mean - 1), rel=1e-12)


def test_one_who_reads_high_is_shown_as_such_and_not_authorised(one_apart):
    world, study, who = one_apart
    assert verdicts(study) == {"Ann": "agrees", "Bo": "agrees", "Cy": "agrees", "Di": "reads high"}
    found = validations.read(study)
    (di,) = (one for one in found.people if one.name == "Di")
    assert (di.standing.apart, found.passed) == (1, True)
    with refused("not-shown-to-agree", ValidationDecision, Authorisation):
        cast.decided(world, study, who.values())
    cast.decided(world, study, [who[name] for name in ("Ann", "Bo", "Cy")])
    assert not Authorisation.objects.filter(person=who["Di"]).exists()


def test_a_criterion_that_is_missed_lets_nobody_be_authorised(world):
    study, who = cast.made(world, criteria={"repeatability": Decimal("1")})
    found = validations.read(study)
    assert found.passed is False
    assert found.why == "Not met: repeatability standard deviation, of the mean."
    with refused("validation-not-met", ValidationDecision, Authorisation):
        cast.decided(world, study, who.values())
    with refused("not-shown-to-agree", ValidationDecision, Authorisation):
        cast.decided(world, study, [who["Ann"]], passed=False)
    kept = cast.decided(world, study, passed=False)
    assert (kept.passed, kept.content["passed"], len(kept.content["results"])) == (False, False, 24)


def test_failure_modes_that_differ_are_a_criterion_too(world):
    who = cast.technicians(world)
    study = cast.planned(world, who, criteria={"modes": Decimal("90")})
    cast.drawn(world, study)
    cast.pulled(world, study)
    ((_, (met,)),) = validations.read(loaded.accepted(world, study)).criteria
    assert (met.percent, met.met) == (100, True)


def test_modes_are_alike_by_how_often_each_was_seen():
    strips = [validations.Strip("a", "L", "P", 1.0, mode) for mode in ("AP", "AP", "AP", "CO")]
    strips += [validations.Strip("b", "L", "P", 1.0, mode) for mode in ("AP", "AP", "CO", "CO")]
    assert validations._percent("modes", strips, []) == 75  # AP 3/4 and 2/4, CO 1/4 and 2/4: 1/2 + 1/4


def test_a_share_of_the_way_needs_a_mean_on_the_good_side(world):
    strips = [validations.Strip(name, "L", "P", value, "AP") for name in "abc" for value in (0.9, 0.95)]
    (limit,) = loaded.planned(world, lab.GROUPS, limits=lab.LIMITS).limits.all()
    with pytest.raises(ValueError, match="bad side of a limit"):
        validations._percent("limit share", strips, [(limit, 1.0)])
    with pytest.raises(ValueError, match="no requirement and no process limit"):
        validations._percent("limit share", strips, [])


@pytest.mark.parametrize("wrong", ["words", "person", "by", "twice"])
def test_what_a_decision_needs(validated, wrong):
    world, study, who = validated
    if wrong == "words":
        with refused("words-missing", ValidationDecision, Authorisation):
            cast.decided(world, study, words=" ")
    elif wrong == "person":
        with refused("not-shown-to-agree", ValidationDecision, Authorisation):
            cast.decided(world, study, [world.timo])
    elif wrong == "by":
        with pytest.raises(NotAllowed):
            cast.decided(world, study, by=world.edda)
        assert not ValidationDecision.objects.exists()
    else:
        cast.decided(world, study, [who["Ann"]])
        with refused("already-decided", ValidationDecision, Authorisation):
            cast.decided(world, study, [who["Bo"]])


def test_whoever_pulled_does_not_decide(world):
    who = cast.technicians(world)
    who["Di"].groups.add(*world.magnus.groups.all())
    study = cast.planned(world, who)
    cast.drawn(world, study)
    cast.pulled(world, study)
    study = loaded.accepted(world, study)
    with refused("same-person", ValidationDecision):
        cast.decided(world, study, by=type(who["Di"]).objects.get(pk=who["Di"].pk))


def test_before_the_results_are_accepted_nothing_is_compared_or_decided(world):
    who = cast.technicians(world)
    study = cast.planned(world, who)
    cast.drawn(world, study)
    cast.pulled(world, study)
    found = validations.read(study)
    assert (found.passed, found.strips, found.blind) == (None, (), True)
    assert "so that nobody pulls towards a number" in found.why
    with refused("validation-open", ValidationDecision):
        cast.decided(world, study, passed=False)


def test_a_study_that_validates_nobody_has_no_decision(world):
    study = loaded.planned(world, lab.GROUPS)
    with pytest.raises(NotFound):
        cast.decided(world, study)


def test_once_decided_its_testing_is_not_opened_again(validated):
    world, study, _ = validated

    def sent_back():
        seen = findings_sha256(findings(study))
        review.review(study=study, accept=False, words="Again.", seen_sha256=seen, by=world.sefa, at=world.at)

    cast.decided(world, study)
    with refused("already-decided"):
        sent_back()
    with refused_as("already-decided"), transaction.atomic():
        Study.objects.filter(pk=study.pk).update(state="testing")
    assert Study.objects.get(pk=study.pk).state == "reviewed"


def test_control_before_the_decision_it_may_be_sent_back(validated):
    world, study, _ = validated
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=False, words="Again.", seen_sha256=seen, by=world.sefa, at=world.at)
    assert Study.objects.get(pk=study.pk).state == "testing"


# --- somebody joins a validated group


def joined(world, reads):
    first, who = cast.made(world)
    cast.decided(world, first, [who[name] for name in ("Ann", "Bo", "Cy")], from_on=lab.date(2026, 5, 1))
    group = {name: who[name] for name in ("Ann", "Bo", "Cy")}
    study = cast.planned(
        world,
        who,
        groups=[cast.group("M", 6, specimens_per_pack=4)],
        group=list(group.values()),
        joins=[who["Di"]],
        criteria={},
    )
    cast.drawn(world, study)
    cast.pulled(world, study, reads)
    return loaded.accepted(world, study), who


def test_somebody_joins_by_a_small_study_against_the_group(world):
    study, who = joined(world, {})
    assert verdicts(study) == dict.fromkeys(("Ann", "Bo", "Cy"), "of the group") | {"Di": "agrees"}
    with refused("not-shown-to-agree", ValidationDecision, Authorisation):
        cast.decided(world, study, [who["Ann"]])  # who is not on trial here
    cast.decided(world, study, [who["Di"]])
    assert Authorisation.objects.get(study=study).person == who["Di"]


def test_somebody_who_does_not_agree_does_not_join(world):
    study, _ = joined(world, {"Di": "-0.25"})
    found = validations.read(study)
    assert (found.people[-1].verdict, found.passed) == ("reads low", False)
    with refused("validation-not-met", ValidationDecision):
        cast.decided(world, study)
