"""Refusals: what was not kept, and why."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords.forms.listing import TIME, Choice, Column, Listing, Nothing
from labrecords.queries import access, studies, values
from labrecords.rules import wording
from labrecords.web import needs

SHOWN = 200


NOTHING = Nothing("Nothing has been refused. What the gate does not keep stands here with its reasons, for everybody.")
COLUMNS = (
    Column("when", "When", lambda refusal: refusal.at, kind=TIME),
    Column("who", "Who", lambda refusal: refusal.by.name),
    Column("tried", "Tried", lambda refusal: refusal.tried, lambda refusal: _tried(refusal)),
    Column("why", "Why it was refused", lambda refusal: refusal.answers[0]["headline"], lambda refusal: _why(refusal)),
)


@needs("see the laboratory")
def refusal_list(request: HttpRequest) -> HttpResponse:
    """The newest refusals; of one reason, one study or one person, the newest of those."""
    context = {
        "listing": _listing(request),
        "may_report": access.may(request.user, "report nonconforming work"),
        "crumbs": [{"label": "Refusals"}],
    }
    return render(request, "refusals/list.html", context)


def _listing(request: HttpRequest) -> Listing:
    asked = {name: request.GET.get(name, "").strip() for name in ("code", "study")}
    found = studies.refusals(**asked)[:SHOWN] if all(value.isprintable() for value in asked.values()) else []
    facets = studies.refusal_facets(SHOWN)
    # What the reader may not see is taken out first, so that no word finds it either.
    rows = values.without_values(found, reader=request.user)
    return Listing(
        rows,
        COLUMNS,
        request.GET,
        ("refusal", "refusals"),
        order="newest first",
        nothing=NOTHING,
        choices=_choices(facets),
        most=SHOWN,
        on_record=studies.refusal_count(),
    )


def _choices(facets) -> tuple[Choice, ...]:
    codes = sorted({code for codes, _ in facets for code in codes})
    headlines = {code: wording.WORDS[code].headline for code in codes}
    coming = sorted({study for _, study in facets if study}, reverse=True)
    return (
        Choice("code", "Reason", lambda refusal: refusal.codes, headlines),
        Choice("study", "Study", _study_of, {study: study for study in coming}),
        Choice("who", "Who", lambda refusal: refusal.by.name),
    )


def _study_of(refusal) -> str:
    return refusal.study.code if refusal.study else ""


def _tried(refusal) -> str:
    return f"{refusal.tried}, {refusal.study.code}" if refusal.study else refusal.tried


def _why(refusal) -> str:
    return " ".join(f"{answer['headline']}. {answer['why']} {answer['code']}" for answer in refusal.answers)
