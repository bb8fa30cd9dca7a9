"""Nonconforming work: the list, opening one, and its steps until work resumes."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import nonconforming as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.listing import TIME, Choice, Column, Listing, Nothing
from labrecords.forms.nonconforming import OpenForm, StepForm
from labrecords.queries import access, clients, nonconforming, studies, values
from labrecords.web import needs, now

LIST = {"label": "Nonconforming work"}


@needs("see the laboratory")
def every(request: HttpRequest) -> HttpResponse:
    """All of it, newest first."""
    may_open = access.may(request.user, "report nonconforming work")
    context = {
        "listing": _listing(request, may_open),
        "may_open": may_open,
        "crumbs": [LIST],
    }
    return render(request, "nonconforming/list.html", context)


COLUMNS = (
    Column("what", "What", lambda row: row.code, lambda row: f"{row.code} {row.title}"),
    Column("state", "State", lambda row: _state(row)),
    Column("study", "Study", lambda row: row.study.code if row.study else None),
    Column("opened", "Opened", lambda row: row.at, kind=TIME),
    Column("by", "By", lambda row: row.by.name),
)


def _state(row) -> str:
    return "Work resumed" if row.closed else "Open"


def _listing(request: HttpRequest, may_open: bool) -> Listing:
    text = "No nonconforming work is on record. What goes wrong is opened here, and holds its studies."
    link = (reverse("open-nonconformity"), "Open nonconforming work") if may_open else ()
    return Listing(
        list(nonconforming.all_of_them()),
        COLUMNS,
        request.GET,
        ("piece of nonconforming work", "pieces of nonconforming work"),
        order="newest first",
        nothing=Nothing(text, *link),
        choices=(Choice("state", "State", _state, {"Open": "open", "Work resumed": "work resumed"}),),
    )


@needs("report nonconforming work")
def open_one(request: HttpRequest) -> HttpResponse:
    """Open it by hand, for a study, or from a refusal."""
    form = OpenForm(request.POST or None, initial=_first(request))
    form.fields["study"].offer([(study.code, str(study)) for study in studies.every()])
    refused = None
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        given["study"] = access.study(request.user, given["study"]) if given["study"] else None
        given["refusal"] = nonconforming.refusal(given["refusal"]) if given["refusal"] else None
        try:
            made = actions.open_one(by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{made.code} is open.")
            return redirect("nonconformity", made.code)
    words = "A study that it is about is neither accepted nor released until a manager lets work resume."
    crumbs = [LIST | {"url": reverse("nonconforming")}, {"label": "Open"}]
    return web.form_page(request, form, "Open nonconforming work", "Open", crumbs, refused=refused, words=words)


def _first(request: HttpRequest) -> dict:
    wanted = request.GET.get("refusal", "")
    if not wanted:
        return {"study": request.GET.get("study", "")}
    refusal = nonconforming.refusal(wanted)
    headline = refusal.answers[0]["headline"]
    return {
        "refusal": refusal.pk,
        "study": refusal.study.code if refusal.study else "",
        "title": f"Refused: {headline}",
    }


@needs("see the laboratory")
def one(request: HttpRequest, code: str) -> HttpResponse:
    """One piece of nonconforming work, what it holds, and its steps."""
    found = nonconforming.one(code)
    form = StepForm(request.POST or None)
    concerned = {client.code: client for client in (*nonconforming.clients_in_question(found), *clients.every())}
    form.fields["client"].offer([(client.code, client.name) for client in concerned.values()])
    refused = None
    if request.method == "POST":
        access.demand(request.user, "handle nonconforming work")
        if form.is_valid():
            given = dict(form.cleaned_data)
            given["client"] = concerned.get(given["client"])
            try:
                kept = actions.add_step(nonconformity=found, by=request.user, at=now(), **given)
            except Refused as answer:
                refused = answer
            else:
                messages.success(request, f"Recorded: {kept.kind}.")
                return redirect("nonconformity", code)
    context = {
        "found": found,
        "form": form,
        "refusal": values.without_values([found.refusal], reader=request.user)[0] if found.refusal else None,
        "not_told": nonconforming.not_told(found),
        "may_handle": access.may(request.user, "handle nonconforming work") and not found.closed,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [LIST | {"url": reverse("nonconforming")}, {"label": found.code}],
    }
    return render(request, "nonconforming/one.html", context, status=422 if refused or form.errors else 200)
