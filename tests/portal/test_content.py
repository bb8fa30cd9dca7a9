"""A report as a page: it says all that its content says, released or still a draft."""

import re

import pytest
from django.template.loader import render_to_string

from labrecords.actions import studies
from labrecords.models import Study
from labrecords.reports.findings import findings
from tests import world as lab
from tests.portal.reading import Page, squeezed
from tests.reports import sample
from tests.reports.test_shape import paths

SHA = "ab" * 32
FILES = [{"name": "results.csv", "title": "Results", "url": "/f/results.csv", "size": 2048, "sha256": SHA}]
ONLY_RELEASED = ("number", "issue", "replaces", "issued_on", "figures", "people", "trail", "content_sha256", "schema")


def drawn(content, **context) -> Page:
    return Page(render_to_string("report/content.html", {"content": content} | context))


def leaf(content, path):
    for key in path:
        content = content[key]
    return str(content)


def released(**context) -> Page:
    defaults = {"figure_urls": {"values": "/f/values.svg"}, "files": FILES, "specimens_url": "/s/"}
    return drawn(sample.content(), **defaults | context)


def unsaid(content, page) -> list[tuple]:
    """Paths of texts that the page does not show. The title is the page's own heading; paper is for print."""
    shown = page.text.casefold()
    wanted = [path for path in paths(content) if path[0] not in ("title", "paper") and not _of_a_drawing(path)]
    assert len(wanted) > 500
    return [path for path in wanted if squeezed(leaf(content, path)).casefold() not in shown]


def _of_a_drawing(path) -> bool:
    return path[0] == "figures" and path[-1] in ("name", "alt")


def test_every_text_of_the_content_is_on_the_page():
    assert unsaid(sample.content(), released()) == []


def test_a_text_left_out_would_be_noticed():
    content = sample.content()
    page = drawn(content | {"refusals_note": "Another sentence."}, files=FILES)
    assert unsaid(content, page) == [("refusals_note",)]


def test_what_the_content_says_is_text_and_never_markup():
    hostile = '<img src=x onerror="alert(1)"><script>alert(2)</script>{{ 1 }}'
    content = sample.content()
    content["summary"] = content["cautions"] = [hostile]
    content["groups"][0]["label"] = content["results"][0]["specimen"] = hostile
    content["limits"][0]["origin"] = content["figures"][0]["alt"] = content["figures"][0]["title"] = hostile
    page = drawn(content, figure_urls={"values": "/f/values.svg"}, specimens_url="/s/")
    assert [attrs["src"] for attrs in page.all("img")] == ["/f/values.svg"]
    assert page.all("script") == []
    assert squeezed(hostile) in page.text


def test_the_order_begins_with_the_answer_and_ends_with_the_record():
    html = render_to_string(
        "report/content.html", {"content": sample.content(), "files": FILES, "figure_urls": {"values": "/v"}}
    )
    order = (
        *("answer", "groups", "figures", "order", "method", "items", "equipment", "deviations"),
        *("people", "statements", "results", "photographs", "files", "record"),
    )
    assert re.findall(r'<h2 id="([a-z]+)"', html) == list(order)
    assert html.index("KR-2026-0041") < html.index('id="answer"') < html.index("Decision rule")
    assert html.index("Decision rule") < html.index("Strength is not integrity") < html.index('id="groups"')


@pytest.mark.parametrize("page", [released, lambda: drawn(draft_of_the_sample())], ids=["released", "draft"])
def test_headings_nest_and_tables_are_named(page):
    page = page()
    steps = zip(page.headings, page.headings[1:], strict=False)
    assert page.headings[0] == 2
    assert all(after - before <= 1 for before, after in steps)
    assert len(page.ids) == len(set(page.ids))
    tables, captions = page.all("table"), page.all("caption")
    regions = [attrs for attrs in page.all("div") if attrs.get("role") == "region"]
    assert len(tables) == len(captions) == len(regions) > 5
    assert all(attrs["tabindex"] == "0" and attrs["aria-label"] for attrs in regions)
    assert len({attrs["aria-label"] for attrs in regions}) == len(regions)
    assert all(attrs.get("scope") in ("col", "row") for attrs in page.all("th"))
    assert all("style" not in attrs for _, attrs in page.elements)


def test_figures_are_the_frozen_drawings_with_their_words():
    (image,) = released().all("img")
    described = sample.content()["figures"][0]
    assert image == {"src": "/f/values.svg", "alt": described["alt"]}
    without = drawn(sample.content())
    assert without.all("img") == []
    assert squeezed(described["summary"][0]) in without.text


def test_specimens_lead_to_their_own_page_only_where_there_is_one():
    row = sample.content()["results"][0]["specimen"]
    assert f"/s/{row}/" in released().addresses
    assert f"specimen-{row}" in drawn(sample.content()).ids
    assert not any(address.startswith("/s/") for address in drawn(sample.content()).addresses)


def draft_of_the_sample():
    return {name: part for name, part in sample.content().items() if name not in ONLY_RELEASED}


def test_a_draft_says_so_and_shows_no_empty_part():
    page = drawn(draft_of_the_sample())
    assert "DraftNotissued" in page.text
    assert not {"figures", "people", "record", "files"} & set(page.ids)
    assert {"answer", "groups", "results", "statements"} <= set(page.ids)
    assert "None" not in re.sub(r"None\.", "", "".join(page.pieces))


def test_findings_before_and_after_testing_are_a_draft(db):
    world = lab.laboratory()
    world.study = lab.plan(world)
    early = drawn(findings(Study.objects.get(pk=world.study.pk)))
    assert "Nothingofthisgrouphasbeentested." in early.text
    assert "Nolothasbeenreceived." in early.text
    world.study = studies.lock(study=world.study, by=world.edda, at=world.at)
    world.specimens = lab.receive(world)
    world.run = lab.open_run(world)
    lab.enter(world, typed="1.52")
    found = findings(Study.objects.get(pk=world.study.pk))
    late = drawn(found)
    assert f"specimen-{world.specimens[0].label}" in late.ids
    assert squeezed(found["study"]["mark"]) in late.text
