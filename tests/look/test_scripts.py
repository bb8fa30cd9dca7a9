"""The scripts, in a browser, under the policy."""

import json

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.template import engines
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.urls("tests.look.urls")]

PAGE = """{% extends "base.html" %}{% load static %}
{% block title %}Lot{% endblock title %}{% block heading %}Lot{% endblock heading %}
{% block head_extra %}{% if draws %}{% include "parts/figure_assets.html" %}{% endif %}
<script src="{% static 'js/drop.js' %}" type="module"></script>{% endblock head_extra %}
{% block main %}__MAIN__{% endblock main %}"""
SPEC = {
    "data": [
        {"type": "scatter", "mode": "markers", "x": [1, 2], "y": [9.31, 8.8], "ids": ["SP-1", "SP-2"]}
        | {"marker": {"color": "#0B5A6B"}}
    ],
    "layout": {"yaxis": {"title": {"text": "Peak force, N/15 mm"}}},
    "label": "Dot plot, 2 values. Summary and data table follow.",
}
FIGURE = {
    "id": "forces",
    "title": "Both values lie above the limit",
    "summary": ["2 values, 8.80 and 9.31 N/15 mm."],
    "spec_json": json.dumps(SPEC),
    "table": {
        "caption": "Peak force",
        "columns": ["Specimen", "Peak force, N/15 mm"],
        "rows": [["SP-1", "9.31"], ["SP-2", "8.80"]],
        "row_ids": ["SP-1", "SP-2"],
    },
}
REFUSAL = {
    "headline": "Not recorded: load cell past its calibration date",
    "facts": ["LC-0090 was due on 24 Nov 2026."],
    "next": [{"label": "Choose another load cell", "url": "/a/"}],
    "code": "R-0D4F7",
}
WIDE = {"caption": "Wide", "columns": ["A rather long heading"] * 9, "rows": [["a_rather_long_cell"] * 9]}
STATES = "".join(
    f'{{% include "parts/state.html" with kind="{kind}" word="{word}" %}} '
    for kind, word in (("stop", "Overdue"), ("due", "Due soon"), ("wait", "In review"), ("ok", "In date"))
)
EVERYTHING = f"""<p>{STATES}</p>{{% include "parts/refusal.html" %}}{{% include "parts/figure.html" %}}
{{% include "parts/table_region.html" with table=wide %}}
{{% include "parts/caution.html" with text="The room was warm." %}}"""
FILES = '<form method="post"><div class="drop-zone"><input type="file" multiple aria-label="Files"></div></form>'
SEND = '<form method="post"><button class="main" type="submit">Keep</button></form>'


def drawn(main, figure=FIGURE):
    context = {"figure": figure, "refusal": REFUSAL, "wide": WIDE, "draws": "figure.html" in main}
    return engines["django"].from_string(PAGE.replace("__MAIN__", main)).render(context)


def plot(page, expression):
    return page.evaluate(f"(() => {{ const plot = document.querySelector('[data-plot]'); return {expression} }})()")


def test_everything_is_drawn_without_a_word_from_the_console(opened):
    page, said = opened(drawn(EVERYTHING))
    expect(page.locator("svg.main-svg").first).to_have_attribute("aria-label", SPEC["label"])
    expect(page.locator("svg.main-svg[role=img]")).to_have_count(1)
    expect(page.locator("svg.main-svg:not([role=img]):not([aria-hidden=true])")).to_have_count(0)
    assert said == []


def test_a_breach_of_the_policy_would_be_heard(opened):
    _, said = opened(drawn('<p style="color: red">Red</p>'))
    assert any("Content Security Policy" in text for text in said)


def test_chart_offers_no_sending_to_elsewhere(opened):
    page, _ = opened(drawn(EVERYTHING))
    names = page.locator(".modebar-btn").evaluate_all("list => list.map(b => b.getAttribute('data-title'))")
    assert names == ["Zoom", "Pan", "Reset axes", "Download plot"]


@pytest.mark.parametrize(("scheme", "panel", "act"), [("light", "#FFFFFF", "#0B5A6B"), ("dark", "#1B2324", "#7CC7D6")])
def test_figure_takes_the_colours_of_the_theme(opened, scheme, panel, act):
    page, _ = opened(drawn(EVERYTHING), color_scheme=scheme)
    expect(page.locator("svg.main-svg").first).to_be_visible()
    assert plot(page, "[plot.layout.paper_bgcolor, plot.data[0].marker.color]") == [panel, act]


def test_row_of_the_table_shows_its_point_and_takes_it_away_again(opened):
    page, _ = opened(drawn(EVERYTHING))
    page.get_by_text("Show the data").click()
    button = page.get_by_role("button", name="SP-2")
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    assert plot(page, "[plot.data.at(-1).x[0], plot.data.at(-1).y[0], plot.data.length]") == [2, 8.8, 2]
    button.click()
    expect(button).to_have_attribute("aria-pressed", "false")
    assert plot(page, "plot.data.length") == 1


def test_heads_of_the_table_sort_its_rows_and_a_chosen_one_stays_chosen(opened):
    figure = FIGURE | {
        "table": FIGURE["table"]
        | {
            "rows": [["SP-1", "9.31"], ["SP-2", "\u22121.5"], ["SP-10", "12.80"], ["SP-3", ""]],
            "row_ids": ["SP-1", "SP-2", "SP-10", "SP-3"],
            "columns": ["Specimen", {"label": "Force, N", "number": True}],
        }
    }
    page, _ = opened(drawn(EVERYTHING, figure))
    page.get_by_text("Show the data").click()
    rows = page.locator(".figure-data tbody th")
    came = ["SP-1", "SP-2", "SP-10", "SP-3"]
    page.get_by_role("button", name="SP-10").click()
    force = page.get_by_role("button", name="Force, N")
    for order in (["SP-2", "SP-1", "SP-10", "SP-3"], ["SP-10", "SP-1", "SP-2", "SP-3"], came):  # without a number: last
        force.click()
        expect(rows).to_have_text(order)
    page.get_by_role("button", name="Specimen").click()
    expect(rows).to_have_text(["SP-1", "SP-2", "SP-3", "SP-10"])
    expect(page.locator(".figure-data th[aria-sort=ascending]")).to_have_text("Specimen")
    expect(page.get_by_role("button", name="SP-10")).to_have_attribute("aria-pressed", "true")


def test_refusal_takes_the_focus(opened):
    page, _ = opened(drawn(EVERYTHING))
    expect(page.locator(".refusal-headline")).to_be_focused()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_narrow_page_does_not_scroll_sideways_but_its_table_does(opened, scheme):
    page, _ = opened(drawn(EVERYTHING), viewport={"width": 320, "height": 800}, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") == 320
    assert page.locator(".table-region[aria-label=Wide]").evaluate("region => region.scrollWidth > 320")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_scan_for_accessibility_finds_nothing(opened, scheme):
    page, _ = opened(drawn(EVERYTHING + FILES), color_scheme=scheme, bypass_csp=True)
    found = Axe().run(page).response["violations"]
    assert [(rule["id"], rule["nodes"][0]["html"]) for rule in found] == []


def test_scan_for_accessibility_would_find_something(opened):
    page, _ = opened(drawn("<button></button>"), bypass_csp=True)
    assert "button-name" in [rule["id"] for rule in Axe().run(page).response["violations"]]


def test_form_is_sent_once(opened):
    page, _ = opened(drawn(SEND))
    sent = []
    page.on("request", lambda request: sent.append(request.method))
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("button", name="Keep")).to_be_disabled()
    page.get_by_role("button", name="Keep").click(force=True)
    assert sent == ["POST"]
    page.evaluate("dispatchEvent(new PageTransitionEvent('pageshow'))")
    expect(page.get_by_role("button", name="Keep")).to_be_enabled()


def test_names_of_chosen_files_are_listed(opened):
    page, _ = opened(drawn(FILES))
    chosen = [{"name": name, "mimeType": "text/csv", "buffer": b"1"} for name in ("a.csv", "b.csv")]
    page.locator("input[type=file]").set_input_files(chosen)
    expect(page.locator(".drop-zone li")).to_have_text(["a.csv", "b.csv"])


def test_file_dropped_anywhere_in_the_zone_is_chosen(opened):
    page, _ = opened(drawn(FILES))
    page.evaluate(
        """() => { const carried = new DataTransfer(); carried.items.add(new File(["1"], "c.csv"));
        document.querySelector(".drop-words").dispatchEvent(
          new DragEvent("drop", {bubbles: true, cancelable: true, dataTransfer: carried})); }"""
    )
    expect(page.locator(".drop-zone li")).to_have_text(["c.csv"])
    assert page.locator("input[type=file]").evaluate("input => input.files.length") == 1
