"""A window study's page: the settings side by side, what was seen of them, and the limit that comes of it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import limits as limit_actions
from labrecords.actions import windows as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.windows import EvidenceForm, ProposalForm
from labrecords.queries import access, derived, limit_choices, values, windows
from labrecords.rules.derived_limit import PROPOSED_FROM
from labrecords.web import needs, now

SIDES = {"lower": "Lower limit", "upper": "Upper limit, so that the pack can be peeled open"}


@needs("see the laboratory")
def window(request: HttpRequest, code: str) -> HttpResponse:
    """Everything about a window study's settings."""
    return _page(request, access.study(request.user, code))


@require_POST
@needs("keep a window")
def keep_evidence(request: HttpRequest, code: str) -> HttpResponse:
    """Keep what was seen of a setting."""
    study = access.study(request.user, code)
    form = _evidence_form(study, request.POST)
    refused = None
    if form.is_valid():
        given = dict(form.cleaned_data)
        given["setting"] = windows.setting(study, int(given["setting"]))
        given["passed"] = given["passed"] == "yes"
        try:
            kept = actions.keep_evidence(by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"Kept: {kept.kind} evidence of {kept.setting}.")
            return redirect("window", code)
    return _page(request, study, evidence=form, refused=refused)


@require_POST
@needs("keep a window")
def propose(request: HttpRequest, code: str) -> HttpResponse:
    """Propose the limit that the window supports."""
    study = access.study(request.user, code)
    form = _proposal_form(study, request.POST)
    refused = None
    if form.is_valid():
        given = dict(form.cleaned_data)
        older = given.pop("supersedes")
        given["supersedes"] = derived.latest(older) if older else None
        try:
            kept = limit_actions.propose(study=study, by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{kept} is proposed. It counts once a second person has approved it.")
            return redirect("derived-limit", kept.code, kept.version)
    return _page(request, study, proposal=form, refused=refused)


def _evidence_form(study, data=None) -> EvidenceForm:
    form = EvidenceForm(data, prefix="evidence")
    form.fields["setting"].offer([(str(row.number), str(row)) for row in windows.settings(study)])
    return form


def _proposal_form(study, data=None) -> ProposalForm:
    form = ProposalForm(data, prefix="proposal", initial={"margin_percent": "5"})
    sides = [("lower", "at least"), ("upper", "at most")]
    form.fields["side"].offer(sides if windows.read_plan(study).openings else sides[:1])
    form.fields["supersedes"].offer([(limit.code, derived.as_offered(limit)) for limit in derived.usable()])
    return form


def _page(request: HttpRequest, study, *, evidence=None, proposal=None, refused=None) -> HttpResponse:
    found = windows.read(study)
    context = {
        "study": study,
        "found": found,
        "unknown_limits": derived.unknown_of(study),
        "settings": [_setting(found, row) for row in found.settings],
        "kinds": [kind.capitalize() for kind in found.asked()],
        "places": [_place(study, place, number) for number, place in enumerate(found.places)],
        "sides": [_side(found, side) for side in SIDES if side == "lower" or study.window.openings],
        "lacking": found.lacking(),
        "limits": [_derived(limit) for limit in derived.of_study(study)],
        "may_keep": access.may(request.user, "keep a window"),
        "may_propose": access.may(request.user, "keep a window")
        and (study.state in PROPOSED_FROM or proposal is not None),
        "evidence_form": evidence or _evidence_form(study),
        "proposal_form": proposal or _proposal_form(study),
        "form": evidence or proposal,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": web.study_crumbs(study.code, {"label": "Process window"}),
    }
    failed = refused or (context["form"] is not None and context["form"].errors)
    return render(request, "studies/window.html", context, status=422 if failed else 200)


def _setting(found, row) -> dict:
    return {
        "row": row,
        "acceptable": found.acceptable(row),
        "evidence": [found.seen(row, kind) for kind in found.asked()],
    }


def _place(study, place, number: int) -> dict:
    from labrecords.reports import window_figures, window_words

    figure = window_figures.window_figure(study, place, number)
    return {
        "place": place,
        "rows": [window_words.cell_words(study, cell, place) for cell in place.cells],
        "against": window_words.against_words(study, place),
        "spreads": window_words.spread_words(place),
        "curve": window_words.curve_words(place),
        "figure": web.figure_context(figure) if figure else None,
    }


def _side(found, side: str) -> dict:
    from labrecords.reports import window_words

    start = limit_choices.starting_bound(found, side)
    missing = [f"{cell.setting.label}, {place.label}" for place, cell in windows.without_bound(found, side)]
    rows = [window_words.choice_words(found.study, choice, side) for choice in limit_choices.choices(found, side)]
    held = [limit for limit in values.limits(found.study) if limit[0].side == side]
    return {
        "heading": SIDES[side],
        "side": side,
        "start": start[1] if start else "",
        "missing": missing,
        "rows": rows,
        "requirements": [limit for limit, _ in held if limit.kind == "requirement"],
    }


def _derived(limit) -> dict:
    return {"limit": limit, "state": derived.words(limit)}
