"""A validation study's page: who agrees, which criteria are met, the drawn order, and the manager's decision."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import validations as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.validations import DecisionForm
from labrecords.queries import access, derived, people, validation_plans, validations
from labrecords.rules.study_states import LOCKED, RELEASED, REVIEWED
from labrecords.web import needs, now


@needs("see the laboratory")
def validation(request: HttpRequest, code: str) -> HttpResponse:
    """Everything about whether people get the same number."""
    return _page(request, access.study(request.user, code))


@require_POST
@needs("authorise people")
def decide(request: HttpRequest, code: str) -> HttpResponse:
    """Decide on the study, and authorise people by it."""
    study = access.study(request.user, code)
    form = _form(validations.read(study), request.POST)
    refused = None
    if form.is_valid():
        given = dict(form.cleaned_data)
        given["passed"] = given["passed"] == "yes"
        given["authorised"] = [people.person(name) for name in given["authorised"]]
        try:
            kept = actions.decide(study=study, by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, _decided(kept, given["authorised"]))
            return redirect("validation", code)
    return _page(request, study, form=form, refused=refused)


def _decided(kept, authorised) -> str:
    names = ", ".join(person.name for person in authorised)
    said = f"The validation in {kept.study.code} is {'passed' if kept.passed else 'not passed'}."
    return f"{said} Authorised: {names}." if names else said


@needs("see the laboratory")
def order(request: HttpRequest, code: str) -> HttpResponse:
    """Who pulls which strip, and when."""
    study = access.study(request.user, code)
    refused = None
    if request.method == "POST":
        access.demand(request.user, "draw an order")
        try:
            actions.draw_order(study=study, by=request.user, at=now())
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, "The order is drawn.")
            return redirect("pull-order", code)
    return _order_page(request, study, refused)


def _order_page(request: HttpRequest, study, refused) -> HttpResponse:
    plan = validation_plans.need(study)
    drawn = validation_plans.order(study)
    context = {
        "study": study,
        "plan": plan,
        "drawn": drawn,
        "people": validation_plans.by_person(drawn) if drawn else [],
        "may_draw": study.state == LOCKED and drawn is None and access.may(request.user, "draw an order"),
        "refusals": web.panels(refused) if refused else [],
        "crumbs": web.study_crumbs(study.code, {"label": "Drawn order"}),
    }
    return render(request, "studies/order.html", context, status=409 if refused else 200)


def _form(found: validations.Validation, data=None) -> DecisionForm:
    from labrecords.rules.dates import months_after

    day = now().date()
    form = DecisionForm(data, initial={"from_on": day, "until_on": months_after(day, 12)})
    named = {row.person_id: row.person for row in validation_plans.people(found.plan)}
    form.fields["authorised"].offer([(named[one.person].username, one.name) for one in found.agreeing])
    return form


def _page(request: HttpRequest, study, *, form=None, refused=None) -> HttpResponse:
    from labrecords.reports import validation_words as words

    found = validations.read(study)
    decision = validations.decision_of(study)
    figure = words.figure(found)
    undecided = decision is None and study.state in (REVIEWED, RELEASED)
    context = {
        "study": study,
        "found": found,
        "unknown_limits": derived.unknown_of(study),
        "plan": found.plan,
        "design": found.plan.get_design_display(),
        "drawn": validation_plans.order(study),
        "conclusion": words.conclusion(found),
        "people": [words.person_words(found, one) for one in found.people],
        "criteria": words.criteria_words(found),
        "blind": found.blind,
        "counted": [one.name for one in found.people if str(one.person) in found.counted],
        "figure": web.figure_context(figure) if figure else None,
        "decision": decision,
        "authorised": list(study.authorisations.select_related("person").order_by("person__name")),
        "form": form or (_form(found) if undecided and access.may(request.user, "authorise people") else None),
        "refusals": web.panels(refused) if refused else [],
        "crumbs": web.study_crumbs(study.code, {"label": "Validation"}),
    }
    failed = refused or (form is not None and form.errors)
    return render(request, "studies/validation.html", context, status=422 if failed else 200)
