"""The first page after signing in: for each of the four kinds of people, what they come here for."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labrecords.queries import access, equipment, studies, values
from labrecords.rules import authority
from labrecords.web import now


def home(request: HttpRequest) -> HttpResponse:
    """A client goes to the reports; everybody else sees the day's work."""
    if not access.may(request.user, "see the laboratory"):
        return redirect("portal:reports")
    person = request.user
    context = {
        "person": person,
        "runs": list(studies.open_runs()) if access.may(person, "open a run") else [],
        "bench": list(studies.at_the_bench()) if access.may(person, "open a run") else [],
        "drafts": list(studies.listed(state="draft")) if access.may(person, "plan a study") else [],
        "reviews": list(studies.waiting_for_review()),
        "deviations": list(studies.open_deviations()) if access.may(person, "decide a deviation") else [],
        "stopped": [row for row in equipment.standings(now()) if row.stops],
        "due": [
            row
            for row in equipment.standings(now())
            if not row.stops and row.days_left is not None and row.days_left <= 60
        ],
        "may": {act.replace(" ", "_"): access.may(person, act) for act in authority.ACTS},
        "refusals": values.without_values(studies.refusals()[:5], reader=request.user),
    }
    return render(request, "home.html", context)


@login_not_required
def help_page(request: HttpRequest) -> HttpResponse:
    """What the words mean, who may do what, and what is refused."""
    from labrecords.rules.wording import WORDS

    rows = [(act, [role for role in authority.ROLES if role in roles]) for act, roles in authority.ACTS.items()]
    return render(request, "help.html", {"acts": rows, "words": WORDS})
