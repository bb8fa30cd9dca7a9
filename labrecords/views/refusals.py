"""Refusals: what was not kept, and why."""

from collections import Counter

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords.queries import access, studies, values
from labrecords.rules import wording
from labrecords.web import needs

SHOWN = 200


@needs("see the laboratory")
def refusal_list(request: HttpRequest) -> HttpResponse:
    """The newest refusals, with how often each reason came."""
    code, study = request.GET.get("code", ""), request.GET.get("study", "")
    found = values.without_values(studies.refusals(code=code, study=study)[:SHOWN], reader=request.user)
    counts = Counter(name for refusal in found for name in refusal.codes)
    context = {
        "rows": found,
        "code": code,
        "study": study,
        "counts": [(name, wording.WORDS[name].headline, count) for name, count in counts.most_common()],
        "may_report": access.may(request.user, "report nonconforming work"),
        "shown": SHOWN,
        "crumbs": [{"label": "Refusals"}],
    }
    return render(request, "refusals/list.html", context)
