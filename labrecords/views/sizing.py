"""How many packs? The sizes of a plan, with the sentence that it keeps as its rationale."""

from decimal import Decimal
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from labrecords.forms.sizing import FORMS
from labrecords.queries import access
from labrecords.rules import sizing
from labrecords.web import needs


@needs("see the laboratory")
def sizes(request: HttpRequest) -> HttpResponse:
    """One question at a time; the answer can be taken into a new plan."""
    kind = request.GET.get("kind", sizing.ATTRIBUTES)
    kind = kind if kind in FORMS else sizing.ATTRIBUTES
    asked = "confidence" in request.GET
    form = FORMS[kind](request.GET if asked else None)
    found = None
    if asked and form.is_valid():
        found = _found(kind, form)
    context = {
        "form": form,
        "kind": kind,
        "heading": sizing.KINDS[kind],
        "kinds": [(key, words, key == kind) for key, words in sizing.KINDS.items()],
        "found": found,
        "plan": f"{reverse('new-study')}?{urlencode({'rationale': found.words})}" if found else "",
        "may_plan": access.may(request.user, "plan a study"),
        "crumbs": [{"label": "Studies", "url": reverse("studies")}, {"label": "How many packs"}],
    }
    return render(request, "studies/sizes.html", context, status=422 if form.errors else 200)


def _found(kind: str, form) -> sizing.Size | None:
    """The size, or None with the complaint on the form: some wishes no number of packs fulfils."""
    given = {name: float(value) if isinstance(value, Decimal) else value for name, value in form.cleaned_data.items()}
    try:
        return getattr(sizing, kind)(**given)
    except ValueError as problem:
        form.add_error(None, f"No number of packs does it as asked: {problem}")
        return None
