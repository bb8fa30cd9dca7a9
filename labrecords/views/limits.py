"""Limits of the laboratory: those derived here with their versions, and those in use whose origin nobody knows."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import strip_tags

from labrecords import web
from labrecords.actions import limits as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.approval import ApprovalForm
from labrecords.forms.listing import TIME, Choice, Column, Listing, Nothing
from labrecords.queries import access, derived, windows
from labrecords.templatetags import look
from labrecords.web import needs, now

STATE_KINDS = {
    "waits for approval": "wait",
    "in force": "ok",
    "superseded": "idle",
    "not approved": "idle",
}


@needs("see the laboratory")
def every(request: HttpRequest) -> HttpResponse:
    """All derived limits, and the limits of unknown origin with the studies that use them."""
    context = {
        "listing": _derived(request),
        "unknown": _unknown(request),
        "windows": list(windows.window_studies()),
        "crumbs": [{"label": "Limits"}],
    }
    return render(request, "limits/list.html", context)


COLUMNS = (
    Column("limit", "Limit", lambda row: str(row["limit"])),
    Column("value", "Process limit", lambda row: row["text"]),
    Column("state", "State", lambda row: row["state"]),
    Column("study", "Window study", lambda row: str(row["limit"].study)),
    Column(
        "proposed",
        "Proposed",
        lambda row: row["limit"].at,
        lambda row: _proposed(row["limit"]),
        kind=TIME,
    ),
)
UNKNOWN_COLUMNS = (
    Column("limit", "Limit", lambda limit: limit.in_words),
    Column("study", "Study", lambda limit: str(limit.study)),
    Column("client", "Client", lambda limit: limit.study.project.client.name),
)
CHOICES = (Choice("state", "State", lambda row: row["state"], {state: state for state in STATE_KINDS}),)
UNKNOWN_CHOICES = (Choice("client", "Client", lambda limit: limit.study.project.client.name),)
OTHER = "unknown-"


def _proposed(limit) -> str:
    return strip_tags(f"{limit.by.name}, {look.lab_time(limit.at)}")


def _derived(request: HttpRequest) -> Listing:
    return Listing(
        [_row(limit) for limit in derived.every()],
        COLUMNS,
        request.GET,
        ("derived limit", "derived limits"),
        order="newest first",
        nothing=Nothing("No limit has been derived here yet. One comes from a window study, once its bounds hold."),
        choices=CHOICES,
        beside=[OTHER + name for name in ("words", "sort", "client")],
    )


def _unknown(request: HttpRequest) -> Listing:
    return Listing(
        list(derived.of_unknown_origin()),
        UNKNOWN_COLUMNS,
        request.GET,
        ("limit of unknown origin", "limits of unknown origin"),
        order="of the newest study first",
        nothing=Nothing("Every limit in use says where it comes from."),
        choices=UNKNOWN_CHOICES,
        prefix=OTHER,
        beside=("words", "sort", "state"),
    )


@needs("see the laboratory")
def one(request: HttpRequest, code: str, version: int) -> HttpResponse:
    """One version of a derived limit: the number, how it came about, and the specimens on which it rests."""
    limit = derived.one(code, version)
    form = ApprovalForm(request.POST or None)
    refused = None
    if request.method == "POST":
        access.demand(request.user, "approve a limit")
        if form.is_valid():
            given = {"approved": form.cleaned_data["approved"] == "yes", "words": form.cleaned_data["words"]}
            try:
                kept = actions.decide(limit=limit, by=request.user, at=now(), **given)
            except Refused as answer:
                refused = answer
            else:
                messages.success(request, f"{limit} is {'approved' if kept.approved else 'not approved'}.")
                return redirect("derived-limit", code, version)
    waits = not hasattr(limit, "decision")
    context = {
        **_row(limit),
        "content": limit.content,
        "cells": _cells(limit),
        "choices": _choices(limit),
        "strips": derived.strips(limit),
        "used": sorted({row.study for row in limit.used_as.all()}, key=lambda study: study.code),
        "form": form if waits and access.may(request.user, "approve a limit") else None,
        "own": waits and limit.by_id == request.user.pk,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [{"label": "Limits", "url": reverse("limits")}, {"label": str(limit)}],
    }
    return render(request, "limits/one.html", context, status=422 if refused or form.errors else 200)


def _row(limit) -> dict:
    state = derived.words(limit)
    return {"limit": limit, "state": state, "kind": STATE_KINDS[state], "text": _text(limit)}


def _text(limit) -> str:
    from labrecords.reports import digits

    return f"{limit.get_side_display()} {digits.fixed(limit.value, limit.study.setup.decimals)} {limit.unit}"


def _cells(limit) -> list[dict]:
    return [
        {
            **{name.replace(" ", "_"): value for name, value in row.items()},
            **{name: _shown(limit, row[name]) for name in ("mean", "sd", "bound")},
        }
        for row in limit.content["cells"]
    ]


def _choices(limit) -> list[dict]:
    return [row | {"value": _shown(limit, row["value"])} for row in limit.content["choices"]]


def _shown(limit, value) -> str:
    from labrecords.reports import digits

    if value is None:
        return "none"
    return digits.fixed(value, limit.study.setup.decimals + 1)
