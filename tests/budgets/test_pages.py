"""Uncertainty budgets through the pages and the interface."""

import re
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from labrecords.actions import people
from labrecords.models import BudgetDecision, UncertaintyBudget
from tests import world as lab
from tests.budgets import cast
from tests.validations import cast as validation


@pytest.fixture
def world(laboratory):
    return laboratory


def page(client, person, name, *args, query="", status=200) -> str:
    client.force_login(person)
    answer = client.get(reverse(name, args=args) + query)
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


def filled(world, rows, **changed) -> dict:
    data = {
        "budget-method_version": str(world.method.pk),
        "budget-technique": "A",
        "budget-level": "100",
        "budget-unit": "lbf/in",
        "budget-coverage": "0.95",
        "budget-rationale": "The guide's example.",
        "lines-TOTAL_FORMS": str(len(rows) + 1),
        "lines-INITIAL_FORMS": "0",
    }
    for place, (name, size, df) in enumerate(rows):
        given = {"name": name, "size": size, "df": df, "type": "A", "distribution": "normal"}
        given |= {"size_is": "standard uncertainty", "sensitivity": "1", "divisor": "", "source": "JCGM 100, G.4.1"}
        data |= {f"lines-{place}-{field}": value for field, value in given.items()}
    blank = {"type": "B", "distribution": "normal", "size_is": "standard uncertainty", "sensitivity": "1"}
    return data | {f"lines-{len(rows)}-{field}": value for field, value in blank.items()} | changed


GUIDE = [("x1", "0,25", "9"), ("x2", "0.57", "4"), ("x3", "0.82", "14")]


def test_the_guide_s_example_is_read_off_the_page(client, world):
    """JCGM 100:2008 (GUM), G.4.1, example, from memory: 1.03 %, 19.0 degrees of freedom, 2.09, 2.2 %."""
    client.force_login(world.edda)
    answer = client.post(reverse("new-budget"), filled(world, GUIDE))
    assert answer.status_code == 302, answer.content.decode()[:3000]
    text = page(client, world.runa, "budget", "U-2026-0001")
    assert "<dd>1.0 lbf/in</dd>" in text
    assert "<dd>19.0, by Welch and Satterthwaite</dd>" in text
    assert "<dd>2.093</dd>" in text
    assert "At 100 lbf/in the expanded uncertainty is 2.2 lbf/in (2.2 %)" in text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"budget-level": "0"}, "This is a number above 0."),
        ({"budget-coverage": "1"}, "This is a share between 0 and 1"),
        ({"budget-rationale": ""}, "Fill this in."),
        ({"lines-0-source": ""}, "Fill this in."),
        ({"lines-0-size": "much"}, "much"),
        ({"lines-1-name": "x1"}, "x1 stands there 2 times."),
        ({"lines-0-size_is": "half width"}, "divisor must be given"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(client, world, changed, said):
    client.force_login(world.edda)
    answer = client.post(reverse("new-budget"), filled(world, GUIDE, **changed))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert 'value="0.82"' in text
    assert not UncertaintyBudget.objects.exists()


def test_more_rows_lose_nothing(client, world):
    client.force_login(world.edda)
    text = client.post(reverse("new-budget"), filled(world, GUIDE, more="lines")).content.decode()
    assert 'name="lines-6-name"' in text
    assert 'value="0,25"' in text
    assert "Fill this in." not in text


def test_a_validation_study_is_where_a_budget_starts(client, world):
    study, _ = validation.made(world)
    validation.decided(world, study)
    assert f"Start from validation {study.code}" in page(client, world.edda, "budgets")
    text = page(client, world.edda, "new-budget", query=f"?from={study.code}")
    assert 'value="Between people"' in text
    # four people, six strips each: 20 degrees of freedom within and 3 between
    assert re.search(r'name="lines-0-df"[^>]*value="20"|value="20"[^>]*name="lines-0-df"', text)
    assert re.search(r'name="lines-1-df"[^>]*value="3"|value="3"[^>]*name="lines-1-df"', text)
    page(client, world.edda, "new-budget", query="?from=S-2026-9999", status=404)


def test_somebody_else_decides(client, world):
    budget = cast.kept(world)
    assert "You worked it out: somebody else decides." in page(client, world.edda, "budget", budget.code)
    client.force_login(world.magnus)
    address = reverse("budget", args=[budget.code])
    assert client.post(address, {"approved": "yes", "words": ""}).status_code == 422
    assert not BudgetDecision.objects.exists()
    assert client.post(address, {"approved": "yes", "words": "Read."}).status_code == 302
    text = page(client, world.runa, "budget", budget.code)
    assert "In force" in text
    assert "Record the decision" not in text
    client.force_login(world.runa)
    assert client.post(address, {"approved": "yes", "words": "Read."}).status_code == 403
    assert BudgetDecision.objects.count() == 1
    assert "In force" in page(client, world.runa, "budgets")


def test_a_technician_works_out_none(client, world):
    page(client, world.runa, "new-budget", status=403)
    assert "Work out a budget" not in page(client, world.runa, "budgets")


def test_the_interface_gives_every_digit(world):
    cast.approved(world)
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    answer = Client(headers={"Authorization": f"Token {token}"}).get("/api/uncertainty/").json()
    (row,) = answer["budgets"]
    assert (row["code"], row["state"], row["technique"]) == ("U-2026-0001", "in force", "A")
    assert row["expanded"] == pytest.approx(0.05 * row["factor"], rel=1e-12)
    assert Decimal(row["level"]) == Decimal("1")
    assert row["effective_df"] is None
    assert [line["name"] for line in row["lines"]] == ["cell", "width"]


def test_the_study_s_page_says_which_budget_it_keeps(client, world):
    from tests import loaded

    cast.approved(world)
    study = loaded.planned(world, lab.GROUPS, limits=lab.LIMITS)
    text = page(client, world.edda, "study", study.code)
    assert "U-2026-0001" in text
