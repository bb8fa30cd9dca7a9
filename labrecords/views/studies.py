"""Studies: the list, the plan, the study's page, and its steps."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import studies as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.listing import NUMBER, Choice, Column, Listing, Nothing
from labrecords.forms.plan import (
    FIRST_SETUP,
    FIRST_STUDY,
    GroupRows,
    LimitRows,
    SettingRows,
    SetupForm,
    StudyForm,
    WindowForm,
)
from labrecords.forms.review import AmendForm, ReasonForm
from labrecords.forms.validations import ValidationForm
from labrecords.queries import access, derived, people, second_factors, studies, validation_plans
from labrecords.rules.study_states import STEPS
from labrecords.web import needs, now

from . import passkeys

ROWS = ("groups", "limits", "settings")
SETUP_FLOATS = ("conditioning_hours", "expected_weak_n", "expected_strong_n")


@needs("see the laboratory")
def study_list(request: HttpRequest) -> HttpResponse:
    """Every study, newest first."""
    found = list(studies.listed())
    for study in found:
        study.state_kind = studies.STATE_KINDS[study.state]
    may_plan = access.may(request.user, "plan a study")
    context = {"listing": _listing(request, found, may_plan), "may_plan": may_plan, "crumbs": [{"label": "Studies"}]}
    return render(request, "studies/list.html", context)


COLUMNS = (
    Column("study", "Study", lambda study: study.code, lambda study: f"{study} {study.project}"),
    Column("client", "Client", lambda study: study.project.client.name),
    Column("state", "State", lambda study: study.state),
    Column("technique", "Technique and rate", lambda study: _pulled(study.setup)),
    Column(
        "done",
        "Done",
        lambda study: study.result_count,
        lambda study: f"{study.result_count} of {study.specimen_count}",
        kind=NUMBER,
        right=True,
    ),
    Column("mark", "Set-up mark", lambda study: study.mark, lambda study: study.mark or "not locked"),
)
CHOICES = (
    Choice("client", "Client", lambda study: study.project.client.name),
    Choice("technique", "Technique", lambda study: study.setup.technique),
    Choice("state", "State", lambda study: study.state, {state: state for state in STEPS}),
)


def _pulled(setup) -> str:
    return f"{setup.technique}, {setup.rate.normalize():f} {setup.rate_unit}"


def _listing(request: HttpRequest, found, may_plan: bool) -> Listing:
    nothing = Nothing("No study yet. An engineer plans the first one.")
    if may_plan:
        nothing = Nothing(
            "No study yet. Plan the first one: it is a draft until you lock it.",
            reverse("new-study"),
            "Plan the first study",
        )
    return Listing(
        found, COLUMNS, request.GET, ("study", "studies"), order="newest first", nothing=nothing, choices=CHOICES
    )


@needs("plan a study")
def plan(request: HttpRequest, code: str | None = None) -> HttpResponse:
    """Plan a study, or write a draft anew."""
    study = access.study(request.user, code) if code else None
    if request.method == "POST":
        forms = _bound(request)
        if "more" in request.POST:
            return _plan_page(request, _with_more(request), study)
        if all(form.is_valid() for form in forms.values()):
            answer = _save(request, forms, study)
            if answer is not None:
                return answer
        return _plan_page(request, forms, study, status=422)
    return _plan_page(request, _unbound(study, rationale=request.GET.get("rationale", "")), study)


def _unbound(study, *, rationale: str = "") -> dict:
    blank = {"study": FIRST_STUDY | {"rationale": rationale}, "setup": FIRST_SETUP}
    first = studies.as_initial(study) if study else blank
    return _offer(
        {
            "study": StudyForm(initial=first["study"], prefix="study"),
            "setup": SetupForm(initial=first["setup"], prefix="setup"),
            "groups": GroupRows(initial=first.get("groups", []), prefix="groups"),
            "limits": LimitRows(initial=first.get("limits", []), prefix="limits"),
            "window": WindowForm(initial=first.get("window", {}), prefix="window"),
            "settings": SettingRows(initial=first.get("settings", []), prefix="settings"),
            "validation": ValidationForm(initial=first.get("validation", {}), prefix="validation"),
        }
    )


def _bound(request: HttpRequest) -> dict:
    data = request.POST
    return _offer(
        {
            "study": StudyForm(data, prefix="study"),
            "setup": SetupForm(data, prefix="setup"),
            "groups": GroupRows(data, prefix="groups"),
            "limits": LimitRows(data, prefix="limits"),
            "window": WindowForm(data, prefix="window"),
            "settings": SettingRows(data, prefix="settings"),
            "validation": ValidationForm(data, prefix="validation"),
        }
    )


def _with_more(request: HttpRequest) -> dict:
    """The forms as typed, with more rows; nothing is checked and nothing lost."""
    data = request.POST.copy()
    name = f"{data['more']}-TOTAL_FORMS"
    rows = data.get(name, "")
    data[name] = str(int(rows) + 3 if rows.isdecimal() and len(rows) < 4 else 3)
    forms = _bound(type("Asked", (), {"POST": data})())
    rows = (form for name in ROWS for form in forms[name].forms)
    for form in (forms["study"], forms["setup"], forms["window"], forms["validation"], *rows):
        form._errors = {}  # shown as typed, without complaints
    return forms


def _offer(forms: dict) -> dict:
    projects = [(project.pk, f"{project.client.name}: {project}") for project in studies.projects()]
    forms["study"].fields["project"].offer(projects)
    versions = [(version.pk, str(version)) for version in studies.method_versions()]
    forms["setup"].fields["method_version"].offer(versions)
    usable = [(limit.pk, derived.as_offered(limit)) for limit in derived.usable()]
    for form in forms["limits"].forms:
        form.fields["derived"].offer(usable)
    technicians = [(person.username, person.name) for person in validation_plans.technicians()]
    for name in ("group", "joins"):
        forms["validation"].fields[name].offer(technicians)
    return forms


def _save(request: HttpRequest, forms: dict, study) -> HttpResponse | None:
    fields = dict(forms["study"].cleaned_data)
    project = studies.project(fields.pop("project"))
    setup = _setup(forms["setup"].cleaned_data)
    rows = {"groups": forms["groups"].filled(), "limits": _limits(forms["limits"].filled())}
    rows |= {"window": _window(forms), "validation": _validation(forms["validation"])}
    try:
        if study is None:
            study = actions.plan(project=project, by=request.user, at=now(), study=fields, setup=setup, **rows)
        else:
            study = actions.replan(study=study, by=request.user, at=now(), fields=fields, setup=setup, **rows)
    except ValidationError as error:
        web.put_on_form(forms["study"], error)
        return None
    except Refused as refused:
        return _refused(request, refused)
    messages.success(request, f"The plan of {study.code} is kept as a draft.")
    return redirect("study", study.code)


def _setup(given: dict) -> dict:
    version = studies.method_version(given["method_version"])
    floats = {name: float(given[name]) for name in SETUP_FLOATS}
    fractions = {"threshold_fraction": version.threshold_fraction, "span_fraction": version.span_fraction}
    return {**given, **floats, **fractions, "method_version": version}


def _limits(rows: list[dict]) -> list[dict]:
    by_key = {str(limit.pk): limit for limit in derived.usable()}
    return [row | {"derived": by_key.get(row["derived"])} for row in rows]


def _window(forms: dict) -> dict | None:
    """The window's part of the plan; None where neither sealer nor a setting was filled in."""
    settings, window = forms["settings"].filled(), forms["window"].cleaned_data
    if not settings and not window["sealer"]:
        return None
    return {**window, "settings": settings}


def _validation(form: ValidationForm) -> dict | None:
    """The validation's part of the plan; None where nothing of it was filled in."""
    if not form.is_filled:
        return None
    given = {name: form.cleaned_data[name] for name in ("design", "margin", "reason")}
    chosen = {name: [people.person(one) for one in form.cleaned_data[name]] for name in ("group", "joins")}
    return given | chosen | {"criteria": form.criteria()}


def _plan_page(request: HttpRequest, forms: dict, study, status: int = 200) -> HttpResponse:
    crumbs = [{"label": "Studies", "url": reverse("studies")}]
    if study:
        crumbs.append({"label": study.code, "url": reverse("study", args=[study.code])})
    opened = {
        "window": _touched(forms["window"], "sealer") or any(form.has_changed() for form in forms["settings"].forms),
        "validation": _touched(forms["validation"], "group", "joins", "margin", "reason"),
    }
    context = {"forms": forms, "study": study, "opened": opened, "crumbs": [*crumbs, {"label": "Plan"}]}
    return render(request, "studies/plan.html", context, status=status)


def _touched(form, *names: str) -> bool:
    """Whether one of these fields has something in it, typed or kept before."""
    return any(form[name].value() for name in names)


def _refused(request: HttpRequest, refused: Refused) -> HttpResponse:
    """A page of its own for a step that was refused, with the way back to the study."""
    study = refused.refusal.study
    links = [{"label": f"Back to {study.code}", "url": reverse("study", args=[study.code])}] if study else []
    panels = web.panels(refused, kept="The refusal is kept in the record. Nothing else changed.", links=links)
    return render(request, "refused.html", {"refusals": panels}, status=409)


@require_POST
@needs("lock a set-up")
def lock(request: HttpRequest, code: str) -> HttpResponse:
    """Freeze the set-up."""
    study = access.study(request.user, code)
    try:
        locked = actions.lock(study=study, by=request.user, at=now())
    except Refused as refused:
        return _refused(request, refused)
    messages.success(request, f"{code} is locked. Its set-up mark is {locked.mark}.")
    return redirect("study", code)


@needs("plan a study")
def withdraw(request: HttpRequest, code: str) -> HttpResponse:
    """End a study that has not been tested."""
    study = access.study(request.user, code)
    form = ReasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            actions.withdraw(study=study, reason=form.cleaned_data["reason"], by=request.user, at=now())
        except Refused as refused:
            return _refused(request, refused)
        messages.success(request, f"{code} is withdrawn.")
        return redirect("study", code)
    return _form_page(request, form, study, heading=f"Withdraw {code}", button="Withdraw the study")


@needs("plan a study")
def amend(request: HttpRequest, code: str) -> HttpResponse:
    """A signed amendment: a successor study under another set-up."""
    study = access.study(request.user, code)
    form = AmendForm(request.POST or None, holds=second_factors.held(request.user))
    if request.method == "POST" and form.is_valid():
        try:
            why = form.cleaned_data["reason"]
            successor = actions.amend(
                study=study, reason=why, by=request.user, at=now(), **passkeys.signed(request, form)
            )
        except Refused as refused:
            return _form_page(request, form, study, **_amend_words(study, request.user), refused=refused)
        messages.success(request, f"{successor.code} continues {code}. Change its set-up, then lock it.")
        return redirect("plan-study", successor.code)
    return _form_page(request, form, study, **_amend_words(study, request.user))


def _amend_words(study, person) -> dict:
    return {
        "heading": f"Continue {study.code} under another set-up",
        "button": "Sign the amendment",
        "words": (
            f"This opens a successor study, linked to {study.code}. Both are kept, and their results are never pooled. "
            f"You sign as {person.name}, now, with this meaning: amendment of {study.code}."
        ),
    }


def _form_page(request, form, study, *, heading, button, words="", refused=None) -> HttpResponse:
    crumbs = web.study_crumbs(study.code, {"label": heading})
    return web.form_page(request, form, heading, button, crumbs, refused=refused, words=words, study=study)
