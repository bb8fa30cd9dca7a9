"""The frame and the error pages, drawn with as little as they may have to make do with."""

import re

import pytest
from django.template.loader import render_to_string

pytestmark = pytest.mark.urls("tests.look.urls")

ERROR_PAGES = ("400.html", "403.html", "403_csrf.html", "404.html", "500.html", "503.html")


@pytest.mark.parametrize("page", ERROR_PAGES)
def test_error_page_needs_no_context(page):
    drawn = render_to_string(page)
    assert len(re.findall(r"<h1\b", drawn)) == 1
    assert '<html lang="en-GB">' in drawn


def test_page_of_a_broken_system_asks_for_nothing():
    source = render_to_string("500.html", {"lab_name": "Alder Seal Laboratory"})
    assert source == render_to_string("500.html")


def test_missing_and_forbidden_records_get_the_same_words():
    assert render_to_string("404.html", {"exception": "No study 17"}) == render_to_string("404.html")


@pytest.mark.parametrize("frame", ["base.html", "portal_base.html"])
def test_frame_starts_with_the_skip_link_and_ends_with_help(frame):
    drawn = render_to_string(frame, {"nav": [{"label": "Studies", "url": "/studies/", "current": True}]})
    assert re.search(r'<body[^>]*>\s*<a class="skip" href="#main">', drawn)
    assert re.search(r"<footer.*>Help</a>", drawn, re.DOTALL)
    assert 'aria-label="Main"' in drawn
    assert 'aria-label="Main"' not in render_to_string(frame, {"nav": []})


def test_refusal_has_its_eight_parts():
    parts = {
        "headline": "Not recorded: load cell past its calibration date",
        "tried": "9.31 N/15 mm for SP-000123-K.",
        "rule": "Equipment must be in calibration on the day of test.",
        "facts": ["LC-0090 was due on 24 Nov 2026."],
        "kept": "A draft on this bench.",
        "who": "M. Osei can record the new calibration.",
    }
    steps = [{"label": "Choose another load cell", "url": "/a/"}, {"label": "Send to M. Osei", "url": "/b/"}]
    drawn = render_to_string("parts/refusal.html", {"refusal": parts | {"next": steps, "code": "R-0D4F7"}})
    said = [*parts.values(), parts["facts"][0], "Choose another load cell", "R-0D4F7"]
    assert [text for text in said if isinstance(text, str) and text not in drawn] == []
    assert 'role="alert"' in drawn
    assert drawn.count('class="button main"') == 1


def test_limit_of_unknown_origin_says_so_with_shape_and_sentence():
    limit = {"name": "Alert limit", "text": "7.00 N/15 mm"}
    unknown = render_to_string("parts/limit.html", {"limit": limit | {"origin": "unknown"}})
    known = render_to_string("parts/limit.html", {"limit": limit | {"origin": "client drawing"}})
    assert "shape-due" in unknown
    assert "Nothing on record says why this number and no other" in unknown
    assert "shape-due" not in known


def test_figure_carries_its_words_its_data_and_its_table():
    table = {
        "caption": "Force",
        "columns": ["Code", "Force"],
        "rows": [["SP-1", "9.31"]],
        "row_ids": ["SP-1"],
    }
    figure = {"id": "f", "title": "T", "summary": ["One value."], "spec_json": '{"a": "<b>"}', "table": table}
    drawn = render_to_string("parts/figure.html", {"figure": figure})
    assert '<script type="application/json">{"a": "\\u003Cb\\u003E"}</script>' in drawn
    assert '<p class="figure-summary">One value.</p>' in drawn
    assert '<tr data-point="SP-1">' in drawn
    assert 'role="region" tabindex="0" aria-label="Force"' in drawn
    assert "as CSV" not in drawn
    given = render_to_string("parts/figure.html", {"figure": figure | {"csv": "data:text/csv;base64,QQ=="}})
    assert '<a href="data:text/csv;base64,QQ==" download="f.csv">' in given
