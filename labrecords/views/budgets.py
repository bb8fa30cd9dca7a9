"""Uncertainty budgets: the list, a new one, and one with its contributions and decision."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import budgets as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.approval import ApprovalForm
from labrecords.forms.budgets import FIRST, USUAL, BudgetForm, LineRows
from labrecords.forms.listing import Choice, Column, Listing, Nothing
from labrecords.queries import access, budgets, studies, validation_lines
from labrecords.rules.budget import Line
from labrecords.web import needs, now

STATE_KINDS = {
    budgets.WAITS: "wait",
    budgets.IN_FORCE: "ok",
    budgets.SUPERSEDED: "idle",
    budgets.REJECTED: "idle",
}


@needs("see the laboratory")
def every(request: HttpRequest) -> HttpResponse:
    """All budgets, and the validation studies from which one may start."""
    may_keep = access.may(request.user, "keep a budget")
    context = {
        "listing": _listing(request, may_keep),
        "may_keep": may_keep,
        "validations": list(validation_lines.decided()),
        "crumbs": [*_crumbs()[:1], {"label": "Uncertainty"}],
    }
    return render(request, "budgets/list.html", context)


COLUMNS = (
    Column("budget", "Budget", lambda row: row["budget"].code),
    Column("method", "Method version", lambda row: str(row["budget"].method_version)),
    Column("technique", "Technique", lambda row: row["budget"].technique),
    Column("state", "State", lambda row: row["state"]),
    Column("said", "What it comes to", lambda row: row["said"]),
)
CHOICES = (
    Choice("method", "Method version", lambda row: str(row["budget"].method_version)),
    Choice("state", "State", lambda row: row["state"], {state: state for state in STATE_KINDS}),
)


def _listing(request: HttpRequest, may_keep: bool) -> Listing:
    text = "No budget yet. Reports say that the uncertainty was not evaluated."
    nothing = Nothing(f"{text} An engineer works out the first one.")
    if may_keep:
        nothing = Nothing(text, reverse("new-budget"), "Work out the first budget")
    return Listing(
        _rows(), COLUMNS, request.GET, ("budget", "budgets"), order="newest first", nothing=nothing, choices=CHOICES
    )


def _rows() -> list[dict]:
    from labrecords.reports import budget_words

    found = list(budgets.every())
    state = budgets.states(found)
    return [
        {
            "budget": row,
            "state": state[row.code],
            "kind": STATE_KINDS[state[row.code]],
            "said": budget_words.summary(row),
        }
        for row in found
    ]


@needs("keep a budget")
def new(request: HttpRequest) -> HttpResponse:
    """Work out a budget."""
    if request.method != "POST":
        return _new_page(request, *_first(request))
    form, lines = _offer(BudgetForm(request.POST, prefix="budget")), LineRows(request.POST, prefix="lines")
    if "more" in request.POST:
        return _new_page(request, *_with_more(request))
    refused = None
    if form.is_valid() and lines.is_valid():
        given = dict(form.cleaned_data)
        given["method_version"] = studies.method_version(given["method_version"])
        rows = [Line(**row) for row in lines.filled()]
        try:
            kept = actions.keep(lines=rows, by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{kept.code} is kept. It counts once a second person has approved it.")
            return redirect("budget", kept.code)
    return _new_page(request, form, lines, refused=refused, status=422)


def _first(request: HttpRequest) -> tuple:
    """What the form offers first: the usual contributions, after those of a validation study if one is named."""
    code = request.GET.get("from", "")
    first, rows = dict(FIRST), list(USUAL)
    if code:
        study = access.study(request.user, code)
        first |= validation_lines.heading(study)
        rows = [*validation_lines.lines(study), *rows]
    return _offer(BudgetForm(initial=first, prefix="budget")), LineRows(initial=rows, prefix="lines")


def _with_more(request: HttpRequest) -> tuple:
    """The forms as typed, with more rows; nothing is checked and nothing lost."""
    data = request.POST.copy()
    rows = data.get("lines-TOTAL_FORMS", "")
    data["lines-TOTAL_FORMS"] = str(int(rows) + 3 if rows.isdecimal() and len(rows) < 4 else 3)
    form, lines = _offer(BudgetForm(data, prefix="budget")), LineRows(data, prefix="lines")
    for one in (form, *lines.forms):
        one._errors = {}  # shown as typed, without complaints
    return form, lines


def _offer(form: BudgetForm) -> BudgetForm:
    form.fields["method_version"].offer([(version.pk, str(version)) for version in studies.method_versions()])
    return form


def _new_page(request: HttpRequest, form, lines, *, refused=None, status: int = 200) -> HttpResponse:
    context = {
        "form": form,
        "lines": lines,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [*_crumbs(), {"label": "A new budget"}],
    }
    return render(request, "budgets/new.html", context, status=status)


@needs("see the laboratory")
def one(request: HttpRequest, code: str) -> HttpResponse:
    """One budget: its contributions, what they come to, and the decision."""
    from labrecords.reports import budget_words

    budget = budgets.one(code)
    form = ApprovalForm(request.POST or None)
    refused = None
    if request.method == "POST":
        access.demand(request.user, "approve a budget")
        if form.is_valid():
            given = {"approved": form.cleaned_data["approved"] == "yes", "words": form.cleaned_data["words"]}
            try:
                actions.decide(budget=budget, by=request.user, at=now(), **given)
            except Refused as answer:
                refused = answer
            else:
                messages.success(request, f"{code} is {'approved' if given['approved'] else 'not approved'}.")
                return redirect("budget", code)
    state = budgets.states(list(budgets.every()))[code]
    waits = state == budgets.WAITS
    context = {
        "budget": budget,
        "state": state,
        "kind": STATE_KINDS[state],
        "said": budget_words.summary(budget),
        "combined": budget_words.spread(budget.combined),
        "lines": [budget_words.line_words(line) for line in budget.lines],
        "form": form if waits and access.may(request.user, "approve a budget") else None,
        "own": waits and budget.by_id == request.user.pk,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [*_crumbs(), {"label": code}],
    }
    return render(request, "budgets/one.html", context, status=422 if refused or form.errors else 200)


def _crumbs() -> list[dict]:
    return [
        {"label": "Methods", "url": reverse("methods")},
        {"label": "Uncertainty", "url": reverse("budgets")},
    ]
