"""A validation study through the pages and the interface: published answers are read there, and every step is taken."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from scipy import stats

from labrecords.actions import people
from labrecords.models import Authorisation, Equipment, PullOrder, Study, ValidationDecision, ValidationPlan
from labrecords.queries import validation_plans
from tests import loaded
from tests import world as lab
from tests.pages.test_plan import filled
from tests.pages.test_precision import ANSWERS, GLUCOSE
from tests.stats.test_comparisons import SLEEP
from tests.validations import cast
from tests.windows.cast import group


@pytest.fixture
def world(laboratory):
    return laboratory


def page(client, person, name, *args, status=200) -> str:
    client.force_login(person)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


def interface(world, study, status=200):
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    answer = Client(headers={"Authorization": f"Token {token}"}).get(f"/api/studies/{study.code}/validation/")
    assert answer.status_code == status
    return answer.json()


def small_cell(world):
    then = world.at - timedelta(days=20)
    return lab.add_equipment(world.people, Equipment.CELL, "Cell 20 N", 50.0, then, verified_low_n=0.02, noise_n=0.0001)


def glucose(world, material):
    """ASTM E691's laboratories as people, and their three results of one material as strips of three packs."""
    first = 1 + 3 * "ABCDE".index(material)
    rows = {f"Laboratory {row[0]}": row[first : first + 3] for row in GLUCOSE}
    who = cast.technicians(world, rows)
    criteria = {"repeatability": Decimal("2"), "intermediate": Decimal("1.95")}
    study = cast.planned(
        world,
        who,
        groups=[group(material, 3, specimens_per_pack=8)],
        setup={"unit": "gf/in", "decimals": 2, "expected_weak_n": 0.4},
        limits=(),
        margin=Decimal("9"),
        criteria=criteria,
    )
    cast.drawn(world, study)

    def typed(place):
        return rows[place.person.name][place.specimen.pack.number - 1]

    cast.pulled(world, study, typed=typed, cell=small_cell(world), unit="gf/in")
    return loaded.accepted(world, study)


def test_e691_s_precision_decides_the_criteria(client, world):
    study = glucose(world, "B")
    mean, _, s_r, s_reproducibility, _, _ = ANSWERS["B"]
    criteria = {row["kind"]: row["found"][0] for row in interface(world, study)["criteria"]}
    assert criteria["repeatability"]["percent"] == pytest.approx(100 * s_r / mean, rel=5e-5)
    assert criteria["intermediate"]["percent"] == pytest.approx(100 * s_reproducibility / mean, rel=5e-5)
    assert [criteria[kind]["met"] for kind in ("repeatability", "intermediate")] == [True, False]
    text = page(client, world.edda, "validation", study.code)
    for said in ("at most 2 %", "1.9 %", "at most 1.95 %", "2.0 %", "Not met: intermediate precision"):
        assert said in text


def sleepers(world):
    """Student's pairs: whoever joins reads the first drug; the two of the group read the second, a little apart."""
    who = cast.technicians(world, ("One", "Two", "New"))
    for name in ("One", "Two"):
        lab.authorise(who[name], world.method, by=world.magnus, at=world.at)
    group_of = {name: who[name] for name in ("One", "Two")}
    study = cast.planned(
        world,
        who,
        groups=[group("L", 10, specimens_per_pack=3)],
        limits=(),
        group=list(group_of.values()),
        joins=[who["New"]],
        margin=Decimal("3"),
        criteria={},
    )
    cast.drawn(world, study)
    reads = {"New": (0, "0"), "One": (1, "0.5"), "Two": (1, "-0.5")}

    def typed(place):
        drug, apart = reads[place.person.name]
        return str(Decimal(str(SLEEP[drug][place.specimen.pack.number - 1])) + Decimal(apart) + 5)

    cast.pulled(world, study, typed=typed)
    return loaded.accepted(world, study)


def test_student_s_pairs_are_read_off_the_page_and_the_interface(client, world):
    """Student (1908), as in tests/stats/test_comparisons.py: a mean difference of 1.58 hours, t 4.06, 9 degrees."""
    study = sleepers(world)
    low, high = stats.ttest_rel(*SLEEP).confidence_interval(0.90)
    told = {row["name"]: row for row in interface(world, study)["people"]}["New"]
    (held,) = told["held"]
    assert held["difference"] == pytest.approx(-1.58, abs=1e-12)
    assert (held["low"], held["high"]) == pytest.approx((low, high), rel=1e-9)
    assert abs(held["difference"]) / ((held["high"] - held["low"]) / 2 / stats.t.ppf(0.95, 9)) == pytest.approx(
        4.06, abs=5e-3
    )
    text = page(client, world.edda, "validation", study.code)
    assert (
        f'<td class="number">−1.580</td> <td class="number">−{-low:.3f}</td> <td class="number">−{-high:.3f}</td>'
        in text
    )
    assert "Within the margin: New." in text


def validation_fields(who, **changed):
    given = {
        "validation-group": [person.username for person in who.values()],
        "validation-design": "crossed",
        "validation-margin": "0,08",
        "validation-reason": "A third of the way.",
        "validation-repeatability": "6",
        "groups-0-specimens_per_pack": "4",
    }
    return given | changed


def test_a_validation_is_planned_shown_and_changed_through_the_page(client, world):
    who = cast.technicians(world)
    client.force_login(world.edda)
    answer = client.post(reverse("new-study"), filled(world, **validation_fields(who)))
    assert answer.status_code == 302, answer.content.decode()[:2000]
    study = Study.objects.order_by("-code").first()
    plan = ValidationPlan.objects.get(study=study)
    assert (plan.margin, [str(row) for row in plan.criteria.all()]) == (Decimal("0.08"), ["repeatability 6.00 %"])
    again = page(client, world.edda, "plan-study", study.code)
    assert re.search(r'value="di"[^>]*checked', again)
    assert 'value="0.08"' in again
    answer = client.post(
        reverse("plan-study", args=[study.code]),
        filled(world, **validation_fields(who, **{"validation-margin": "0.1"})),
    )
    assert ValidationPlan.objects.get(study=study).margin == Decimal("0.1")


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"validation-margin": ""}, "Fill this in."),
        ({"validation-reason": ""}, "Fill this in."),
        ({"validation-group": []}, "Choose at least one person."),
        ({"validation-joins": ["ann"]}, "Nobody joins a group to which they belong"),
        ({"validation-margin": "-1"}, "This is a number above 0."),
    ],
)
def test_what_is_missing_of_a_validation_is_named_and_nothing_typed_is_lost(client, world, changed, said):
    who = cast.technicians(world)
    client.force_login(world.edda)
    before = Study.objects.count()
    answer = client.post(reverse("new-study"), filled(world, **validation_fields(who, **changed)))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert 'value="L7"' in text
    assert Study.objects.count() == before


def test_the_order_is_drawn_and_shown(client, world):
    who = cast.technicians(world)
    study = cast.planned(world, who)
    assert "No order has been drawn" in page(client, world.runa, "pull-order", study.code)
    assert "Draw who pulls which strip" in page(client, world.edda, "study", study.code)
    assert client.post(reverse("pull-order", args=[study.code])).status_code == 302
    text = page(client, world.edda, "pull-order", study.code)
    assert PullOrder.objects.get().seed in text
    assert text.count("waits") == 24
    answer = client.post(reverse("pull-order", args=[study.code]))
    assert answer.status_code == 409
    assert "the order has been drawn" in answer.content.decode()
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    bench = page(client, who["Ann"], "run", run.pk)
    assert "6 strips of Ann wait, in" in bench
    assert f'value="{validation_plans.next_for(run)[0].label}"' in bench


def test_nobody_is_compared_while_testing_goes_on(client, world):
    who = cast.technicians(world)
    study = cast.planned(world, who)
    cast.drawn(world, study)
    cast.pulled(world, study, {"Di": "0.30"})
    for name in ("validation", "precision"):
        text = page(client, world.edda, name, study.code)
        assert "so that nobody pulls towards a number" in text
        assert "reads high" not in text.lower()
    assert interface(world, study)["people"][0]["held"] == []


def decide(client, world, study, **changed):
    client.force_login(world.magnus)
    data = {"passed": "yes", "authorised": ["ann", "bo", "cy"], "from_on": "2026-05-21", "until_on": "2027-05-20"}
    return client.post(reverse("decide-validation", args=[study.code]), data | {"words": "Read."} | changed)


def test_the_manager_decides_and_authorises_those_who_agree(client, one_apart):
    world, study, _ = one_apart
    text = page(client, world.magnus, "validation", study.code)
    assert "Within the margin: Ann, Bo, Cy. Not: Di (reads high)." in text
    assert 'value="di"' not in text  # who is not shown to agree is not offered
    assert decide(client, world, study).status_code == 302
    assert Authorisation.objects.filter(study=study).count() == 3
    text = page(client, world.magnus, "validation", study.code)
    assert "Passed, decided by Magnus Orre" in text
    assert "Record the decision" not in text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"words": ""}, "Fill this in."),
        ({"until_on": ""}, "Fill this in."),
        ({"until_on": "2026-01-01"}, "The last day lies before the first."),
        ({"authorised": ["di"]}, "Choose people of the list."),
        ({"passed": "no"}, "gets no authorisation"),
    ],
)
def test_a_decision_that_lacks_something_changes_nothing(client, one_apart, changed, said):
    world, study, _ = one_apart
    answer = decide(client, world, study, **changed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not ValidationDecision.objects.exists()
    assert not Authorisation.objects.filter(study=study).exists()


def test_a_study_that_validates_nobody_has_no_such_page(client, world):
    study = loaded.planned(world, lab.GROUPS)
    page(client, world.edda, "validation", study.code, status=404)
    page(client, world.edda, "pull-order", study.code, status=404)
    interface(world, study, status=404)


def test_values_that_could_not_be_measured_get_a_sentence(client, world):
    who = cast.technicians(world)
    study = cast.planned(world, who)
    cast.drawn(world, study)
    cast.pulled(world, study, typed=lambda place: "0.05" if place.number == 1 else cast.value(place, {}))
    text = page(client, world.edda, "validation", loaded.accepted(world, study).code)
    assert "Some strips could not be measured, so no mean pretends to know them." in text
    assert "Cannot be judged" in text


def test_the_number_of_queries_does_not_grow_with_the_results(client, validated):
    world, study, who = validated
    more = cast.planned(world, who, groups=[group("M", 12, specimens_per_pack=4)])
    cast.drawn(world, more)
    cast.pulled(world, more, typed=lambda place: f"1.{50 + place.number}")
    more = loaded.accepted(world, more)
    page(client, world.edda, "validation", study.code)
    counts = []
    for one in (study, more):
        with CaptureQueriesContext(connection) as caught:
            page(client, world.edda, "validation", one.code)
        counts.append(len(caught))
    assert counts[0] == counts[1]


def test_values_that_are_all_equal_get_a_sentence(client, world):
    who = cast.technicians(world)
    study = cast.planned(world, who)
    cast.drawn(world, study)
    cast.pulled(world, study, typed=lambda place: "1.50")
    text = page(client, world.edda, "validation", loaded.accepted(world, study).code)
    assert "there is no spread to judge by" in text
    assert "Not shown to agree" in text
    assert "Cannot be judged" in text


def test_a_person_who_pulled_nothing_gets_a_sentence(client, world):
    from labrecords.actions import review
    from labrecords.reports.findings import findings, findings_sha256

    who = cast.technicians(world)
    study = cast.planned(world, who)
    cast.drawn(world, study)
    run = lab.open_run(world, study=study, person=who["Ann"], by=who["Ann"])
    for strip in validation_plans.next_for(run):
        lab.enter(world, specimen=strip, run=run, tested_by=who["Ann"], entered_by=who["Ann"])
    lab.runs.close_run(run=run, by=who["Ann"], at=world.at)
    review.finish_testing(study=study, by=world.edda, at=world.at, why_fewer="The others are ill.")
    study = Study.objects.get(pk=study.pk)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)
    text = page(client, world.edda, "validation", study.code)
    assert "Nobody is within the margin." in text
    assert "must hold at least" in text or "at least 2" in text
