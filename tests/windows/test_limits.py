"""From a window to a limit: proposed, refused, approved by somebody else, and used where it belongs."""

from decimal import Decimal

import pytest

from labrecords.actions import studies
from labrecords.actions.refusals import Refused
from labrecords.models import DerivedLimit, Event, Limit, LimitDecision, Refusal, SettingEvidence, Study
from labrecords.queries import derived
from labrecords.queries.access import NotAllowed
from labrecords.stats import tolerance
from tests import loaded
from tests import world as lab
from tests.equipment.conftest import refused
from tests.windows import cast


def test_the_limit_is_the_weakest_setting_s_bound_less_the_margin_rounded_down(world, window):
    limit = cast.proposed(world, window)
    bound = tolerance.lower_bound([float(v) for v in cast.STRENGTHS["low"]], coverage=0.95, confidence=0.95).bound
    assert limit.bound == pytest.approx(bound, rel=1e-12)
    assert limit.bound_of == "low, as made, side"
    # 1.3250 - 3.187 x 0.02449 = 1.2469 (factor for 95/95 and 8: NIST e-Handbook 7.2.6.3, from memory); less 5 % 1.1846
    assert limit.value == Decimal("1.18")
    assert (limit.code, limit.version, derived.words(limit)) == ("L-2026-0001", 1, "waits for approval")


def test_a_setting_that_what_was_seen_speaks_against_is_not_in_the_window(world, window):
    cast.seen(world, window, "low", "visual", passed=False)
    limit = cast.proposed(world, window)
    assert limit.bound_of == "nominal, as made, side"
    assert [row["acceptable"] for row in limit.content["cells"]] == [False, True, True]


def test_a_later_finding_stands_for_an_earlier_one(world, window):
    cast.seen(world, window, "low", "visual", passed=False)
    cast.seen(world, window, "low", "visual")
    assert cast.proposed(world, window).bound_of == "low, as made, side"


def test_missing_evidence_is_said_by_the_limit(world, window):
    for lot in cast.STRENGTHS:
        cast.seen(world, window, lot, "visual")
    cast.seen(world, window, "low", "integrity")
    limit = cast.proposed(world, window)
    assert limit.lacking == "integrity evidence of nominal; integrity evidence of high"


def test_what_others_would_take_stands_beside_it(world, window):
    rows = {row["words"]: row for row in cast.proposed(world, window).content["choices"]}
    smallest = rows["The smallest value that happened to be found"]
    assert (smallest["value"], smallest["outside"], smallest["of"]) == (1.29, 0, 24)
    nominal = rows["Bound of nominal alone"]
    assert nominal["outside"] == 8  # 1.54125 - 3.187 x 0.0429 = 1.4045: every strip of the low setting lies below
    assert rows["Bound of low alone"]["outside"] == 0


@pytest.mark.parametrize("margin", ["100", "99.9"])
def test_a_margin_that_leaves_nothing_is_refused(world, window, margin):
    with refused("no-bound", DerivedLimit):
        cast.proposed(world, window, margin_percent=Decimal(margin))


def test_without_a_reason_nothing_is_proposed(world, window):
    with refused("words-missing", DerivedLimit):
        cast.proposed(world, window, rationale=" ")


def test_before_testing_is_finished_nothing_is_proposed(world):
    study = cast.made(world)
    with refused("window-not-tested", DerivedLimit):
        cast.proposed(world, study)


def test_a_window_that_does_not_clear_the_requirement_gives_no_limit(world):
    demand = [lab.LIMITS[0] | {"value": Decimal("1.20")}]
    study = loaded.accepted(world, cast.made(world, limits=demand))
    with refused("requirement-not-cleared", DerivedLimit):
        cast.proposed(world, study)
    assert cast.proposed(world, study, margin_percent=Decimal(0)).value == Decimal("1.24")  # the control


def test_an_upper_limit_starts_from_the_strongest_setting(world):
    study = loaded.accepted(world, cast.made(world, openings=True))
    limit = cast.proposed(world, study, side="upper")
    assert limit.bound_of == "high, as made, side"
    # 1.7150 + 3.187 x 0.02878 = 1.8067, plus 5 % 1.8971, rounded up
    assert limit.value == Decimal("1.90")


def test_a_setting_without_a_bound_keeps_the_limit_from_being_proposed(world):
    one_pack = cast.STRENGTHS | {"low": ["1.31"]}
    study = loaded.accepted(world, cast.made(world, one_pack))
    with refused("no-bound", DerivedLimit):
        cast.proposed(world, study)


def test_only_an_engineer_proposes(world, window):
    with pytest.raises(NotAllowed):
        cast.proposed(world, window, by=world.runa)
    assert not DerivedLimit.objects.exists()


def test_only_engineers_and_managers_approve(world, window):
    limit = cast.proposed(world, window)
    with pytest.raises(NotAllowed):
        cast.approved(world, limit, by=world.runa)
    assert not LimitDecision.objects.exists()


def test_whoever_proposed_does_not_approve(world, window):
    limit = cast.proposed(world, window)
    with refused("same-person", LimitDecision):
        cast.approved(world, limit, by=world.edda)


def test_an_approval_needs_words_and_comes_once(world, window):
    limit = cast.proposed(world, window)
    with refused("words-missing", LimitDecision):
        cast.approved(world, limit, words="")
    cast.approved(world, limit)
    with refused("already-decided", LimitDecision):
        cast.approved(world, limit, by=world.magnus)
    assert derived.words(derived.one(limit.code, 1)) == "in force"


def test_a_result_that_no_longer_counts_keeps_the_proposal_from_being_approved(world, window):
    limit = cast.proposed(world, window)
    stored = list(limit.content["results"])
    limit.content["results"] = stored[1:]  # as if one more result had come to count since
    with refused("content-changed", LimitDecision):
        cast.approved(world, limit)
    limit.content["results"] = stored
    cast.approved(world, limit)


def test_evidence_needs_words(world, window):
    from labrecords.actions import windows
    from labrecords.models import SealingSetting

    row = SealingSetting.objects.filter(window__study=window).first()
    with refused("words-missing", SettingEvidence):
        windows.keep_evidence(setting=row, kind="visual", passed=True, words=" ", by=world.edda, at=world.at)


def next_version(world, window, limit):
    return cast.proposed(world, window, margin_percent=Decimal(8), supersedes=limit)


def test_a_limit_has_versions_and_one_waits_at_a_time(world, window):
    limit = cast.proposed(world, window)
    with refused("version-open", DerivedLimit):
        next_version(world, window, limit)
    cast.approved(world, limit)
    second = next_version(world, window, derived.one(limit.code, 1))
    assert (second.code, second.version) == (limit.code, 2)
    assert derived.words(derived.one(limit.code, 1)) == "in force"  # until the second is approved
    cast.approved(world, second)
    assert derived.words(derived.one(limit.code, 1)) == "superseded"
    assert [str(one) for one in derived.usable()] == ["L-2026-0001 version 2"]


# --- used by another study


def using(world, limit, **changed) -> Study:
    setup = {name: changed.pop(name) for name in ("technique",) if name in changed}
    row = {"kind": "process", "side": "lower", "value": None, "unit": "", "derived": limit} | changed
    return studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at,
        study=lab.STUDY,
        setup=lab.SETUP | {"method_version": world.method} | setup,
        groups=lab.GROUPS,
        limits=[row],
    )


def test_a_study_takes_the_limit_as_approved_and_says_where_it_comes_from(world, window):
    limit = cast.proposed(world, window)
    cast.approved(world, limit)
    study = studies.lock(study=using(world, limit), by=world.edda, at=world.at)
    row = study.limits.get()
    assert (row.value, row.unit, row.origin) == (Decimal("1.18"), "lbf/in", "derived")
    assert row.origin_words == f"L-2026-0001 version 1, from window study {window.code}"


def test_under_another_technique_the_limit_is_refused(world, window):
    limit = cast.proposed(world, window)
    cast.approved(world, limit)
    study = using(world, limit, technique="C")
    with refused("limit-taken-otherwise"):
        studies.lock(study=study, by=world.edda, at=world.at)
    study.refresh_from_db()
    assert study.locked_at is None


def test_a_superseded_limit_is_refused(world, window):
    limit = cast.proposed(world, window)
    cast.approved(world, limit)
    study = using(world, limit)
    cast.approved(world, next_version(world, window, derived.one(limit.code, 1)))
    with refused("limit-not-in-force"):
        studies.lock(study=study, by=world.edda, at=world.at)


# --- the plan of a window study


@pytest.mark.parametrize(
    ("lots", "said"),
    [
        (["low", "nominal"], "The plan has 2 sealing settings"),
        (["low", "high", "over"], "is the nominal one"),
        (["low", "nominal", "high", "over"], "No group of the plan is of lot over"),
    ],
)
def test_a_window_plan_says_enough_or_is_not_locked(world, lots, said):
    groups = [cast.group(lot, 3) for lot in lots if lot != "over" or len(lots) < 4]
    with pytest.raises(Refused) as caught:
        loaded.planned(world, groups, window=cast.window(lots))
    assert caught.value.codes == ("window-incomplete",) * len(caught.value.answers)
    assert said in str(caught.value)
    assert not Study.objects.exclude(pk=world.study.pk).exclude(locked_at=None).exists()


def test_settings_have_the_same_places(world):
    groups = [cast.group(lot, 3) for lot in ("low", "nominal", "high")]
    groups[2]["position"] = "chevron"
    with pytest.raises(Refused, match="do not have the same places"):
        loaded.planned(world, groups, window=cast.window(["low", "nominal", "high"]))


def test_every_step_leaves_an_event(world, window):
    cast.seen(world, window, "low", "visual")
    cast.approved(world, cast.proposed(world, window))
    acts = list(Event.objects.filter(study=window.pk).values_list("act", flat=True))
    assert {"setting.seen", "limit.proposed", "limit.decided"} <= set(acts)
    assert not Refusal.objects.filter(study=window).exists()
    assert not Limit.objects.filter(derived__isnull=False).exists()


def test_a_successor_has_the_same_settings(world, window):
    new = studies.amend(study=window, reason="Another sealer.", password=lab.PASSWORD, by=world.edda, at=world.at)
    new = Study.objects.get(pk=new.pk)
    assert [row.label for row in new.window.settings.all()] == ["low", "nominal", "high"]
    assert Study.objects.get(pk=window.pk).window.settings.count() == 3
