"""The first page after signing in: for each of the four kinds of people, what they come here for."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labrecords.queries import access, due, studies, values, waiting
from labrecords.rules import authority
from labrecords.web import now

from .due import grouped


def home(request: HttpRequest) -> HttpResponse:
    """A client goes to the reports; everybody else sees the day's work."""
    if not access.may(request.user, "see the laboratory"):
        return redirect("portal:reports")
    person, moment = request.user, now()
    rows = due.everything(moment)
    context = {
        "person": person,
        "runs": list(studies.open_runs()) if access.may(person, "open a run") else [],
        "bench": list(studies.at_the_bench()) if access.may(person, "open a run") else [],
        "drafts": list(studies.listed(state="draft")) if access.may(person, "plan a study") else [],
        "reviews": waiting.reviews(moment),
        "deviations": waiting.deviations() if access.may(person, "decide a deviation") else [],
        "discrepancies": waiting.discrepancies(),
        "nonconformities": waiting.open_nonconformities(),
        "counts": [(name, sum(row.group == name for row in rows)) for name in due.GROUPS[:3]],
        "groups": grouped([row for row in rows if row.group in due.GROUPS[:3]]),
        "next": next((row for row in rows if row.on is not None and not row.overdue), None),
        "may": {act.replace(" ", "_"): access.may(person, act) for act in authority.ACTS},
        "week": waiting.refusals_of_the_week(moment),
        "workload": waiting.workload(),
        "pulled": waiting.results_by_person(moment),
        "refusals": values.without_values(studies.refusals()[:5], reader=request.user),
    }
    return render(request, "home.html", context)


@login_not_required
def help_page(request: HttpRequest) -> HttpResponse:
    """What the words mean, who may do what, and what is refused."""
    from labrecords.rules.wording import WORDS

    rows = [(act, [role for role in authority.ROLES if role in roles]) for act, roles in authority.ACTS.items()]
    staff = request.user.is_authenticated and access.may(request.user, "see the laboratory")
    return render(request, "help.html", {"acts": rows, "words": WORDS, "sees_components": staff})
