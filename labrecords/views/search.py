"""Search: a code goes straight to what it is of; words are looked for in codes and titles."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords.forms.search import SearchForm
from labrecords.queries import access, search
from labrecords.rules import codes
from labrecords.web import needs

NAMES = {
    "study": ("study", "studies"),
    "lot": ("lot", "lots"),
    "pack": ("pack", "packs"),
    "specimen": ("specimen", "specimens"),
    "equipment": ("item of equipment", "items of equipment"),
    "run": ("run", "runs"),
    "report": ("report", "reports"),
    "limit": ("limit", "limits"),
    "person": ("person", "people"),
}


@needs("see the laboratory")
def search_page(request: HttpRequest) -> HttpResponse:
    """What was found, by kind, with how many of each."""
    form = SearchForm(request.GET)
    asked = form.cleaned_data["q"] if form.is_valid() else ""
    code = codes.read(asked)
    found = search.exact(request.user, code) if code else None
    if code and found is not None:
        return redirect(_address(request, code.kind, found))
    groups = search.find(request.user, asked)
    context = {
        "asked": asked,
        "too_short": 0 < len(asked) < codes.SHORTEST,
        "wrong": "" if form.is_valid() else " ".join(error for errors in form.errors.values() for error in errors),
        "groups": [_shown(request, group) for group in groups],
        "count": sum(group.count for group in groups),
        "crumbs": [{"label": "Search"}],
    }
    return render(request, "search.html", context)


def _shown(request: HttpRequest, group) -> dict:
    one, many = NAMES[group.kind]
    rows = [(_address(request, group.kind, row), *_words(group.kind, row)) for row in group.rows]
    return {
        "id": group.kind,
        "name": (one if group.count == 1 else many).capitalize(),
        "count": group.count,
        "rows": rows,
        "more": group.count - len(rows),
    }


def _address(request: HttpRequest, kind: str, row) -> str:
    """Where a thing stands: a pack with its lot, a report and a run one may not open with their study."""
    if kind == "run" and access.may(request.user, "open a run"):
        return reverse("run", args=[row.pk])
    places = {
        "study": lambda: ("study", row.code),
        "run": lambda: ("study", row.study.code),
        "report": lambda: ("study", row.study.code),
        "lot": lambda: ("lot", row.label),
        "pack": lambda: ("lot", row.lot.label),
        "specimen": lambda: ("specimen", row.label),
        "equipment": lambda: ("equipment-item", row.label),
        "limit": lambda: ("derived-limit", row.code, row.version),
        "person": lambda: ("person", row.username),
    }
    name, *parts = places[kind]()
    return reverse(name, args=parts)


def _words(kind: str, row) -> tuple[str, str]:
    """What the link says, and what stands beside it."""
    words = {
        "study": lambda: (f"{row.code} {row.title}", f"{row.project.client.name}, {row.state}"),
        "lot": lambda: (f"{row.label} {row.name}", f"{row.study.code}, {row.description}"),
        "pack": lambda: (row.label, f"{row.lot.study.code}, lot {row.lot.name}, pack {row.number}"),
        "specimen": lambda: (row.label, f"{row.study.code}, {row.group or 'in no group'}"),
        "equipment": lambda: (f"{row.label} {row.name}", f"{row.get_kind_display()}, no. {row.serial}"),
        "run": lambda: (f"{row.study.code} run {row.number}", f"{row.person.name}, {row.study.title}"),
        "report": lambda: (f"{row.number} issue {row.issue}", row.title),
        "limit": lambda: (f"{row.code} version {row.version}", row.study.title),
        "person": lambda: (row.name, row.client.name if row.client else row.username),
    }
    return words[kind]()
