"""Every component of the look in every state, for those who build and judge pages. Nothing on it is on record."""

import functools
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.charts.values import GroupValues, individual_values
from labrecords.forms.components import SampleForm
from labrecords.forms.listing import NUMBER, Choice, Column, Listing, Nothing
from labrecords.queries import studies
from labrecords.rules.answers import Answer
from labrecords.templatetags import look
from labrecords.web import needs

from . import budgets as budget_pages
from . import limits as limit_pages

THEN = datetime(2026, 11, 25, 7, 19, tzinfo=UTC)
# A state whose kind and word a template writes itself, in either order.
WRITTEN = re.compile(r'parts/state\.html" with (?:kind="(\w+)" word="([^"]+)"|word="([^"]+)" kind="(\w+)")')


@dataclass(frozen=True)
class Message:
    """What an act led to, as Django's messages are."""

    level_tag: str
    text: str

    def __str__(self) -> str:
        return self.text


MESSAGES = (
    Message("success", "S-2026-0004 is locked."),
    Message("info", "Nothing changed."),
    Message("warning", "Two files have no specimen yet."),
    Message("error", "The file was cut short."),
)
COLUMNS = (
    Column("specimen", "Specimen", lambda row: row[0]),
    Column("force", "Force, N", lambda row: row[1], kind=NUMBER, right=True),
    Column("mode", "Failure mode", lambda row: row[2]),
)
ROWS = (("SP-000001-A", 9.31, "adhesive peel"), ("SP-000002-8", 8.75, "cohesive peel"))


@needs("see the laboratory")
def components(request: HttpRequest) -> HttpResponse:
    """Each part of templates/parts/ under a heading with its file, in every state it has."""
    if request.method == "POST":
        messages.info(request, "Nothing was recorded: this page only shows what forms look like.")
        return redirect("components")
    context = {
        "states": _states(),
        "levels": MESSAGES,
        "sample": SampleForm(prefix="sound"),
        "wrong": SampleForm({"wrong-force": "nine", "wrong-side": "c"}, prefix="wrong"),
        "decision": SampleForm(prefix="decision"),
        "panels": _panels(),
        "figure": _figure(),
        "table": {
            "caption": "A table of numbers",
            "columns": [column.heading for column in COLUMNS],
            "rows": [(row[0], f"{row[1]:.2f}", row[2]) for row in ROWS],
        },
        "facts": _facts(),
        "limits": _limits(),
        "unknown_limits": [{"in_words": "requirement at least 1 lbf/in"}],
        "protocol": _protocol(),
        "protocols": _answers(),
        **_lists(request),
        "crumbs": [{"label": "Help", "url": reverse("help")}, {"label": "Components"}],
    }
    return render(request, "components.html", context)


def _states() -> list[tuple[str, list[tuple[str, str]]]]:
    named = [(kind, word.capitalize()) for kind, words in look.STATES.items() for word in words]
    return [
        ("Words of the five states", named),
        ("Written by a page", _written()),
        ("A study", _of(studies.STATE_KINDS)),
        ("A derived limit", _of(limit_pages.STATE_KINDS)),
        ("An uncertainty budget", _of(budget_pages.STATE_KINDS)),
    ]


@functools.cache
def _written() -> list[tuple[str, str]]:
    """Kind and word of every state that a template writes itself, read from the templates, so that none is left out."""
    folder = settings.TEMPLATES[0]["DIRS"][0]
    found = {match.groups() for file in Path(folder).rglob("*.html") for match in WRITTEN.finditer(file.read_text())}
    return sorted({(kind or other_kind, word or other_word) for kind, word, other_word, other_kind in found})


def _of(kinds: dict[str, str]) -> list[tuple[str, str]]:
    return [(kind, word.capitalize()) for word, kind in kinds.items()]


def _panels() -> list[dict]:
    why = "LC-000004-0 was due on 24 Nov 2026."
    links = [{"label": "See the equipment", "url": reverse("equipment")}, {"label": "Help", "url": reverse("help")}]
    tried = "9.31 N/15 mm for SP-000001-A"
    return [
        web.panel_of(Answer("calibration-overdue", why), tried=tried, at=THEN, links=links),
        web.panel_of(Answer("not-allowed", "Your roles do not allow it."), tried=tried),
        web.panel_of(
            Answer("unusual-value", "Check 9.31: the 5 kept of this group lie between 4.10 and 4.60 N/15 mm."),
            tried=tried,
        ),
    ]


def _figure() -> dict:
    groups = [
        GroupValues(f"lot {name}", values, tuple(f"{name}-{place}" for place in (1, 2, 3)), ("AP", "AP", "CO"))
        for name, values in (("A", (9.31, 8.75, 9.02)), ("B", (7.42, 7.9, 8.1)))
    ]
    return web.figure_context(individual_values(groups, unit="N/15 mm", decimals=2, figure_id="sample-figure"))


def _facts() -> list[dict]:
    return [
        {"label": "Plain", "value": "a value"},
        {"label": "With a note", "value": "9.31 N/15 mm", "note": "A note says what the value does not."},
        {"label": "With a link", "value": "the equipment", "url": reverse("equipment")},
    ]


def _limits() -> list[dict]:
    return [
        {"name": "Requirement", "text": "at least 1.50 N/15 mm", "origin": "client drawing", "source": "FD-114"},
        {
            "name": "Process limit",
            "text": "at least 4.20 N/15 mm",
            "origin": "window study",
            "source": "see the limits",
            "url": reverse("limits"),
        },
        {"name": "Alert limit", "text": "at least 7.00 N/15 mm", "origin": "unknown"},
    ]


def _protocol() -> dict:
    return {
        "parts": [{"heading": "How it is pulled", "items": [{"label": "Technique", "value": "A"}]}],
        "changes": [("Rate", "10 in/min", "11 in/min")],
        "earlier": {"version": 1},
    }


def _answers() -> list[dict]:
    said = {"said_by": "Somebody of the client", "said_on": date(2026, 11, 25), "received_as": "signed on the page"}
    return [
        {"answer": said | {"agreed": True, "words": ""}},
        {"answer": said | {"agreed": False, "words": "Pull ten more."}},
        {"signature": True},
        {},
    ]


def _lists(request: HttpRequest) -> dict:
    nothing = Nothing("No specimen yet. A lot comes first.", reverse("studies"), "See the studies")
    given = {"columns": COLUMNS, "what": ("specimen", "specimens"), "order": "in their order", "nothing": nothing}
    choices = (Choice("mode", "Failure mode", lambda row: row[2]),)
    return {
        "listing": Listing(ROWS, asked=request.GET, choices=choices, **given),
        "no_fit": Listing(ROWS, asked={"none-words": "no such"}, prefix="none-", **given),
        "no_rows": Listing((), asked={}, prefix="empty-", **given),
    }
