"""Two groups of results side by side, or why they may not be."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse, reverse_lazy

from labrecords import web
from labrecords.forms.comparing import ComparisonForm
from labrecords.queries import comparing, lab, traces
from labrecords.web import needs, now

CRUMBS = [{"label": "Studies", "url": reverse_lazy("studies")}, {"label": "Compare", "url": reverse_lazy("compare")}]


@needs("see the laboratory")
def compare(request: HttpRequest) -> HttpResponse:
    """What differs between two groups; a difference with its interval only where the set-up marks agree."""
    form = ComparisonForm(request.GET or None)
    offered = comparing.choices()
    for name in ("one", "other"):
        form.fields[name].offer(offered)
    found = comparing.compare(**form.cleaned_data) if form.is_valid() else None
    context = {
        "form": form,
        "found": found,
        "sides": [_side(found.one), _side(found.other)] if found else [],
        "for_client": f"{reverse('compare-for-client')}?{urlencode(form.cleaned_data)}" if found else "",
        "crumbs": CRUMBS,
    }
    return render(request, "studies/compare.html", context, status=422 if form.errors else 200)


@needs("see the laboratory")
def explained(request: HttpRequest) -> HttpResponse:
    """For the client: why two sets of numbers differ, set-up by set-up, with the pulls. Never of two clients."""
    found = comparing.compare(request.GET.get("one", ""), request.GET.get("other", ""))
    clients = {side.group.study.project.client for side in (found.one, found.other)}
    if len(clients) > 1:
        return render(request, "studies/two_clients.html", {"crumbs": CRUMBS}, status=409)
    context = {
        "found": found,
        "client": clients.pop(),
        "today": lab.day(now()),
        "sides": [_side(found.one), _side(found.other)],
        "figures": [web.figure_context(figure) for figure in _pulls(found)],
        "crumbs": [*CRUMBS, {"label": "For the client"}],
    }
    return render(request, "studies/explained.html", context)


def _pulls(found) -> list:
    """The traces of both sides, on one pair of axes; none where a side has none."""
    from labrecords.reports import figures

    groups = [side.group for side in (found.one, found.other)]
    curves = [list(traces.curves(group.study, group=group)) for group in groups]
    return figures.beside(curves, [f"{group.study.code}: {group}" for group in groups]) if all(curves) else []


def _side(side) -> dict:
    from labrecords.reports.printed import group_words

    return {"study": side.group.study, "words": group_words(side.group.study, side.found)}
