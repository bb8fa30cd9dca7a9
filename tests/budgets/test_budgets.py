"""Uncertainty budgets: combined as the guides say, approved by somebody else, and used by a guarded decision rule."""

from decimal import Decimal

import pytest
from django.db import transaction

from labrecords.actions import studies, trail
from labrecords.models import BudgetDecision, Study, UncertaintyBudget
from labrecords.queries import budgets, numbers
from labrecords.queries.access import NotAllowed
from labrecords.reports import budget_words
from labrecords.reports.findings import findings
from tests import loaded
from tests import world as lab
from tests.budgets import cast
from tests.equipment.conftest import refused
from tests.walls.refused import refused_as

GUARDED = {"decision_rule": "guarded by uncertainty"}


@pytest.fixture
def world(laboratory):
    return laboratory


def test_the_guide_s_welch_satterthwaite_example(world):
    """JCGM 100:2008 (GUM), G.4.1, example, from memory: 0.25, 0.57 and 0.82 % of 10, 5 and 15 readings make 1.03 %
    with 19.0 effective degrees of freedom; with t 2.09 at 95 % the expanded uncertainty is 2.2 %.
    """
    relative = [("x1", "0.25", 9), ("x2", "0.57", 4), ("x3", "0.82", 14)]
    lines = [cast.line(name, size, type="A", df=Decimal(df)) for name, size, df in relative]
    kept = cast.kept(world, lines, level=Decimal(100), coverage=Decimal("0.95"))
    assert round(kept.combined, 2) == 1.03
    assert round(kept.effective_df, 1) == 19.0
    assert round(kept.factor, 2) == 2.09
    assert round(kept.expanded, 1) == 2.2
    assert round(100 * kept.share, 1) == 2.2


def test_a_budget_by_hand(world):
    kept = cast.kept(world)
    # the root of 0.03^2 + 0.04^2 is 0.05; a coverage of 0.9545 makes 2.000 with degrees of freedom without end
    assert kept.combined == pytest.approx(0.05, rel=1e-12)
    assert kept.effective_df is None
    assert kept.factor == pytest.approx(2, abs=5e-5)
    assert [round(float(line["share"]), 4) for line in kept.lines] == [0.36, 0.64]
    assert kept.code == "U-2026-0001"


def test_a_half_width_is_divided_by_its_distribution_s_divisor(world):
    half = {"size_is": "half width"}
    lines = [
        cast.line("flat", "0.03", distribution="rectangular", **half),
        cast.line("certificate", "0.02", divisor=Decimal(2), sensitivity=Decimal("-1.5"), **half),
    ]
    kept = cast.kept(world, lines)
    # JCGM 100:2008, 4.3.7: a half width over the root of three; 4.3.3: over the factor it was expanded by
    assert [float(line["contribution"]) for line in kept.lines] == pytest.approx([0.03 / 3**0.5, 0.015], rel=1e-12)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ((), "no contribution"),
        ((cast.line("cell", "0.03"), cast.line("cell", "0.04")), "cell stands there 2 times."),
        ((cast.line("cell", "0"),), "Every contribution is nothing"),
        ((cast.line("cell", "0.03", size_is="half width"),), "divisor must be given"),
        ((cast.line("cell", "0.03", divisor=Decimal(2)),), "divisor must be given"),
        ((cast.line("cell", "0.03", df=Decimal("0.5")),), "df must be 1 or more"),
    ],
)
def test_what_does_not_go_together_is_refused(world, lines, said):
    from labrecords.actions.refusals import Refused

    before = UncertaintyBudget.objects.count()
    with pytest.raises(Refused) as caught:
        cast.kept(world, lines)
    assert caught.value.codes[0] == "budget-incomplete"
    assert any(said in answer.why for answer in caught.value.answers)
    assert UncertaintyBudget.objects.count() == before


def test_a_budget_needs_words_and_sources(world):
    from dataclasses import replace

    with refused("words-missing", UncertaintyBudget):
        cast.kept(world, rationale=" ")
    with refused("budget-incomplete", UncertaintyBudget):
        cast.kept(world, [replace(cast.LINES[0], source=" ")])


def test_who_may_keep_and_approve(world):
    for person in (world.runa, world.magnus):
        with pytest.raises(NotAllowed):
            cast.kept(world, by=person)
    budget = cast.kept(world)
    with pytest.raises(NotAllowed):
        cast.approved(world, budget, by=world.runa)
    with refused("same-person", BudgetDecision):
        cast.approved(world, budget, by=world.edda)
    with refused("words-missing", BudgetDecision):
        cast.approved(world, budget, words="")
    cast.approved(world, budget, by=world.magnus)
    with refused("already-decided", BudgetDecision):
        cast.approved(world, budget)


def test_the_budget_approved_last_is_in_force(world):
    from datetime import timedelta

    first = cast.approved(world)
    second = cast.kept(world)
    other = cast.kept(world, technique="C")
    assert budgets.in_force(world.method, "A") == first
    assert budgets.in_force(world.method, "C") is None
    cast.approved(world, second, at=world.at + timedelta(minutes=1))
    cast.approved(world, other, approved=False)
    assert budgets.in_force(world.method, "A") == second
    assert budgets.in_force(world.method, "C") is None
    states = budgets.states(list(budgets.every()))
    assert states == {first.code: "superseded", second.code: "in force", other.code: "not approved"}


# --- used by a study


def guarded(world, values, **changed):
    study = loaded.planned(world, lab.GROUPS, limits=lab.LIMITS, study=GUARDED | changed)
    loaded.received(world, study, ["L1"])
    loaded.entered(world, study, {"L1": values})
    return Study.objects.get(pk=study.pk)


def test_without_a_budget_a_guarded_study_is_not_locked(world):
    cast.kept(world)  # not approved: it does not count
    draft = studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at,
        study=lab.STUDY | GUARDED,
        setup=lab.SETUP | {"method_version": world.method},
        groups=lab.GROUPS,
        limits=lab.LIMITS,
    )
    with refused("no-budget"):
        studies.lock(study=draft, by=world.edda, at=world.at)
    assert Study.objects.get(pk=draft.pk).state == "draft"
    cast.approved(world)
    assert studies.lock(study=draft, by=world.edda, at=world.at).budget is not None


@pytest.mark.parametrize(
    ("values", "met", "said"),
    [
        # the limit is 1.00 lbf/in at least, the expanded uncertainty a tenth of it: accepted from 1.10 on
        (["1.52", "1.30", "1.11", "1.25"], True, "all 4 clear the acceptance limit"),
        (["1.52", "1.30", "1.08", "1.25"], False, "1 of 4 does not clear the acceptance limit, 0 of them beyond"),
        (["1.52", "0.98", "1.08", "1.25"], False, "2 of 4 do not clear the acceptance limit, 1 of them beyond"),
    ],
)
def test_a_value_is_accepted_only_beyond_the_guard_band(world, values, met, said):
    cast.approved(world)
    (group,) = numbers.study_numbers(guarded(world, values))
    (verdict,) = group.verdicts
    assert verdict.met is met
    assert said in verdict.words


def test_control_the_same_values_by_every_value(world):
    cast.approved(world)
    (group,) = numbers.study_numbers(guarded(world, ["1.52", "1.30", "1.08", "1.25"], decision_rule="every value"))
    assert group.verdicts[0].met is True


def test_the_report_states_the_uncertainty_and_the_acceptance_limit(world):
    cast.approved(world)
    found = findings(guarded(world, ["1.52", "1.30", "1.08", "1.25"]))
    rule = found["decision_rule"]["text"]
    # twice 0.05 is 0.100001: the coverage of 0.9545 belongs to a factor of 2.000002
    assert "For at least 1 lbf/in the acceptance limit is at least 1.1000 lbf/in." in rule
    assert "expanded uncertainty is 0.10 lbf/in (10.0 %)" in rule
    assert dict(found["setup"])["Measurement uncertainty"].startswith("budget U-2026-0001: at 1 lbf/in")
    assert any("do not clear the acceptance limit" in line or "does not clear" in line for line in found["summary"])


def test_without_a_budget_the_report_says_that_it_was_not_evaluated(world):
    study = loaded.planned(world, lab.GROUPS, limits=lab.LIMITS)
    assert budget_words.of_study(study).startswith("not evaluated: no budget was in force")


def test_a_later_budget_does_not_change_a_locked_study(world):
    from datetime import timedelta

    first = cast.approved(world)
    study = guarded(world, ["1.52", "1.30", "1.11", "1.25"])
    more = [cast.line("cell", "0.30")]
    cast.approved(world, cast.kept(world, more), at=world.at + timedelta(minutes=1))
    again = Study.objects.get(pk=study.pk)
    assert again.budget == first
    assert numbers.study_numbers(again)[0].verdicts[0].met is True


# --- the same rules in the database


def decision(world, budget, by):
    with transaction.atomic():
        made = BudgetDecision.objects.create(budget=budget, approved=True, words="w", by=by, at=world.at)
        trail.write("budget.decided", subject="budget", by=by, at=world.at, after={"id": made.pk})


def test_a_budget_is_not_approved_by_whoever_made_it(world):
    budget = cast.kept(world)
    with refused_as("same-person"):
        decision(world, budget, world.edda)
    decision(world, budget, world.sefa)


def test_a_study_takes_no_budget_that_is_not_approved_or_of_another_technique(world):
    draft = lab.plan(world)
    waiting, other = cast.kept(world), cast.approved(world, cast.kept(world, technique="C"))
    for wrong in (waiting, other):
        with refused_as("no-budget"), transaction.atomic():
            Study.objects.filter(pk=draft.pk).update(budget=wrong)
    good = cast.approved(world)
    assert Study.objects.filter(pk=draft.pk).update(budget=good) == 1


def test_a_guarded_study_is_not_locked_without_one_by_a_script(world):
    draft = lab.plan(world)
    Study.objects.filter(pk=draft.pk).update(decision_rule="guarded by uncertainty")
    with refused_as("no-budget"), transaction.atomic():
        Study.objects.filter(pk=draft.pk).update(locked_at=world.at, locked_by=world.edda, mark="M", state="locked")


def test_a_locked_study_keeps_its_budget(world):
    cast.approved(world)
    study = loaded.planned(world, lab.GROUPS, limits=lab.LIMITS)
    with refused_as("setup-locked"), transaction.atomic():
        Study.objects.filter(pk=study.pk).update(budget=None)
