"""What changed? Two groups of results, how far apart they are, and everything on record that differs."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords import web
from labrecords.forms.changes import ChangesForm
from labrecords.queries import access
from labrecords.queries import changes as queries
from labrecords.rules import what_changed
from labrecords.web import needs


@needs("see the laboratory")
def changes(request: HttpRequest, code: str) -> HttpResponse:
    """Pick two groups, or let the page look for a shift."""
    study = access.study(request.user, code)
    form = ChangesForm(request.GET or {"how": "found", "scope": "study"})
    wide = form.data.get("scope") == "mark"
    rows = queries.rows(queries.same_mark(study) if wide else [study])
    offered = queries.levels(rows)
    for name in ("one", "other"):
        form.fields[name].offer(offered)
    found = _found(rows, form.cleaned_data) if form.is_valid() else None
    context = {
        "study": study,
        "form": form,
        "found": found,
        **(_said(study, found) if found else {}),
        "crumbs": web.study_crumbs(code, {"label": "What changed?"}),
    }
    return render(request, "studies/changes.html", context, status=422 if form.errors else 200)


def _found(rows, given: dict) -> queries.Changes:
    if given["how"] == "day":
        return queries.before_and_from(rows, given["day"])
    if given["how"] == "picked":
        return queries.picked(rows, given["one"], given["other"])
    return queries.found_by_shift(rows)


def _said(study, found: queries.Changes) -> dict:
    from labrecords.reports import changes_words as words

    figure = words.figure(study, found)
    return {
        "sentence": words.sentence(study, found),
        "spread": words.spread_sentence(found),
        "shift": words.shift_sentence(found),
        "tests": what_changed.tests(what_changed.suspects(found.ranked)) if found.means else [],
        "differs": [one for one in found.ranked if one.how != what_changed.NOT],
        "same": [one.label.lower() for one in found.ranked if one.how == what_changed.NOT],
        "shares": [words.explained_words(row) for row in found.explained],
        "figure": web.figure_context(figure) if figure else None,
    }
