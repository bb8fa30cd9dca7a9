"""A window study through the pages: what others computed is read off them, and every step can be taken there."""

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from labrecords.models import DerivedLimit, LimitDecision, Study
from tests import loaded
from tests.reference import tables
from tests.windows import cast

OPENED = {"opened": True, "typed": "", "unit": "", "modes": ()}


def page(client, person, name, *args, status=200) -> str:
    client.force_login(person)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


def groups_of_r() -> dict[str, list[str]]:
    groups: dict[str, list[str]] = {}
    for name, value in tables.rows("r_comparisons_groups.csv")[1:]:
        groups.setdefault(name, []).append(value)
    return {name: groups[name] for name in ("low", "nominal", "high", "over")}


def test_r_s_many_to_one_answers_are_read_off_the_page(client, world):
    """R 4.2.2, multcomp 1.4-22, on the constructed set in tests/reference/data/r_comparisons_groups.csv."""
    groups = groups_of_r()
    study = cast.made(world, groups, setup={"decimals": 3})
    text = page(client, world.edda, "window", study.code)
    answers = dict(tables.rows("r_comparisons.csv")[1:])
    means = {name: sum(map(float, row)) / len(row) for name, row in groups.items()}
    for name in ("low", "high", "over"):
        difference = means[name] - means["nominal"]
        half = float(answers[f"dunnett:groups:{name}:half"])
        p = float(answers[f"dunnett:groups:{name}:p_value"])
        row = re.search(
            rf'<th scope="row">{name}</th> <td class="number">([^<]*)</td> <td class="number">([^<]*)</td> '
            rf'<td class="number">([^<]*)</td> <td>p ([^<]*)</td>',
            text,
        )
        read = [float(cell.replace("−", "-")) for cell in row.groups()]
        assert read == pytest.approx([difference, difference - half, difference + half, p], abs=6e-4)
        assert read != pytest.approx([difference, difference - 1.2 * half, difference + 1.2 * half, p], abs=6e-4)


def test_the_page_asks_for_evidence_and_keeps_it(client, world):
    study = cast.made(world)
    text = page(client, world.edda, "window", study.code)
    assert "Still to be shown: visual evidence of low; integrity evidence of low;" in text
    address = reverse("setting-evidence", args=[study.code])
    given = {"evidence-setting": "1", "evidence-kind": "visual", "evidence-passed": "no", "evidence-words": "Channels."}
    assert client.post(address, given).status_code == 302
    text = page(client, world.edda, "window", study.code)
    assert "Set aside" in text
    assert "visual evidence of low;" not in text  # nothing more is asked of a setting that is set aside
    assert "integrity evidence of low" not in text


def test_what_is_missing_is_said_beside_the_field_and_nothing_is_lost(client, world):
    study = cast.made(world)
    client.force_login(world.edda)
    given = {
        "evidence-setting": "1",
        "evidence-kind": "visual",
        "evidence-passed": "",
        "evidence-words": "Twenty packs.",
    }
    answer = client.post(reverse("setting-evidence", args=[study.code]), given)
    assert answer.status_code == 422
    assert "Twenty packs." in answer.content.decode()


def test_a_limit_is_proposed_approved_and_shown_where_it_is_used(client, world):
    study = loaded.accepted(world, cast.made(world))
    client.force_login(world.edda)
    given = {"proposal-side": "lower", "proposal-margin_percent": "5", "proposal-rationale": "All three hold."}
    answer = client.post(reverse("propose-limit", args=[study.code]), given)
    assert answer.status_code == 302
    assert "You proposed it" in client.get(answer.url).content.decode()
    client.force_login(world.sefa)
    assert client.post(answer.url, {"approved": "yes", "words": "Read."}).status_code == 302
    text = page(client, world.sefa, "derived-limit", "L-2026-0001", 1)
    assert "In force" in text
    assert "integrity evidence of nominal" in text
    assert text.count(reverse("specimen", args=["SP-"])[:-1]) >= 24  # every strip can be opened from here
    user = loaded.planned(
        world, [cast.group("L9", 3)], limits=[{"kind": "process", "derived": DerivedLimit.objects.get()}]
    )
    text = page(client, world.edda, "study", user.code)
    assert f'<a href="{reverse("derived-limit", args=["L-2026-0001", 1])}">' in text


def test_a_refused_proposal_says_why_and_keeps_what_was_typed(client, world):
    study = cast.made(world)
    client.force_login(world.edda)
    given = {"proposal-side": "lower", "proposal-margin_percent": "5", "proposal-rationale": "Because of use."}
    answer = client.post(reverse("propose-limit", args=[study.code]), given)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "the window&#x27;s results are not there yet" in text
    assert "Because of use." in text
    assert not DerivedLimit.objects.exists()


def test_a_refused_approval_changes_nothing(client, world):
    study = loaded.accepted(world, cast.made(world))
    limit = cast.proposed(world, study)
    client.force_login(world.edda)
    answer = client.post(reverse("derived-limit", args=[limit.code, 1]), {"approved": "yes", "words": "Mine."})
    assert answer.status_code == 422
    assert not LimitDecision.objects.exists()


def test_a_limit_of_unknown_origin_is_listed_with_how_to_give_it_one(client, world):
    loaded.planned(
        world,
        [cast.group("L9", 3)],
        limits=[{"kind": "requirement", "side": "lower", "value": Decimal(1), "unit": "lbf/in", "origin": "unknown"}],
    )
    text = page(client, world.runa, "limits")
    assert "Origin unknown" in text
    assert "plan a window study with low, nominal and high sealing settings" in text


@pytest.mark.parametrize(
    ("strengths", "said"),
    [
        ({}, "low has fewer than two packs with a value"),
        ({"low": ["1.31"]}, "low has fewer than two packs with a value"),
        ({lot: ["1.50"] * 3 for lot in ("low", "nominal", "high")}, "The numbers do not allow a comparison"),
    ],
)
def test_small_and_degenerate_data_get_a_sentence(client, world, strengths, said):
    groups = cast.STRENGTHS | strengths
    planned = [cast.group(lot, len(row)) for lot, row in groups.items()]
    study = loaded.planned(world, planned, window=cast.window(groups))
    if strengths:
        loaded.received(world, study, list(groups))
        loaded.entered(world, study, groups)
    text = page(client, world.edda, "window", study.code)
    assert said in text
    assert "No limit can be proposed while an acceptable setting lacks a bound" in text or "none" in text


def test_a_seal_that_had_opened_is_counted_and_no_mean_pretends_to_know_it(client, world):
    strengths = cast.STRENGTHS
    groups = [cast.group(lot, len(row)) for lot, row in strengths.items()]
    study = loaded.planned(world, groups, window=cast.window(strengths))
    loaded.received(world, study, list(strengths))
    for lot, row in strengths.items():
        loaded.entered(world, study, {lot: row}, **OPENED if lot == "low" else {})
    text = page(client, world.edda, "window", study.code)
    assert "Some values of low could not be measured" in text
    assert "Dunnett" not in text
    assert "8 values are too few for a bound without a model" in text


def test_a_study_that_looks_for_no_window_has_no_such_page(client, world):
    page(client, world.edda, "window", world.study.code, status=404)


def test_the_number_of_queries_does_not_grow_with_the_results(client, world, django_assert_max_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = []
    for packs in (2, 8):
        study = cast.made(world, {lot: row[:packs] for lot, row in cast.STRENGTHS.items()})
        client.force_login(world.edda)
        client.get(reverse("window", args=[study.code]))
        with CaptureQueriesContext(
            connection,
        ) as caught:
            client.get(reverse("window", args=[study.code]))
        counts.append(len(caught))
    assert counts[0] == counts[1]
    assert Study.objects.filter(window__isnull=False).count() == 2
