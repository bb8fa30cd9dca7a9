"""Refusals: what was not kept, and why."""

from collections import Counter

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords.queries import studies
from labrecords.rules import wording
from labrecords.web import needs

SHOWN = 200


@needs("see the laboratory")
def refusal_list(request: HttpRequest) -> HttpResponse:
    """The newest refusals, with how often each reason came."""
    code = request.GET.get("code", "")
    found = list(studies.refusals(code=code)[:SHOWN])
    counts = Counter(code for refusal in found for code in refusal.codes)
    context = {
        "rows": found,
        "code": code,
        "counts": [(name, wording.WORDS[name].headline, count) for name, count in counts.most_common()],
        "shown": SHOWN,
        "crumbs": [{"label": "Refusals"}],
    }
    return render(request, "refusals/list.html", context)
