"""People: who is here, in which role, authorised for what until when."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labrecords.queries import lab, studies
from labrecords.web import needs, now


@needs("see the laboratory")
def people_list(request: HttpRequest) -> HttpResponse:
    """Everybody, with roles and authorisations."""
    today = lab.day(now())
    rows = [
        {
            "person": person,
            "roles": sorted(group.name for group in person.groups.all()),
            "authorisations": [_authorisation(held, today) for held in person.authorisations.all()],
        }
        for person in studies.people()
    ]
    return render(request, "people/list.html", {"rows": rows, "crumbs": [{"label": "People"}]})


def _authorisation(held, today) -> dict:
    withdrawn = getattr(held, "withdrawal", None)
    until = withdrawn.from_on if withdrawn else held.until_on
    over = (withdrawn is not None and withdrawn.from_on <= today) or held.until_on < today
    return {
        "words": f"{held.method_version}, technique {held.technique}",
        "until": until,
        "withdrawn": withdrawn is not None,
        "kind": "stop" if over else "ok",
        "state": "Ended" if over else "Holds",
    }
