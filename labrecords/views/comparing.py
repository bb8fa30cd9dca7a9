"""Two groups of results side by side, or why they may not be."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from labrecords.forms.comparing import ComparisonForm
from labrecords.queries import comparing
from labrecords.web import needs


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
        "crumbs": [{"label": "Studies", "url": reverse("studies")}, {"label": "Compare"}],
    }
    return render(request, "studies/compare.html", context, status=422 if form.errors else 200)


def _side(side) -> dict:
    from labrecords.reports.printed import group_words

    return {"study": side.group.study, "words": group_words(side.group.study, side.found)}
