"""Testing finished, deviations decided, the study reviewed, the report signed and released."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import deviations
from labrecords.actions import reports as release_actions
from labrecords.actions import review as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.listing import TIME, Choice, Column, Listing, Nothing
from labrecords.forms.review import DecisionForm, ReleaseForm, ReviewForm
from labrecords.queries import access, corrections, derived, reports, risk, second_factors, studies, waiting
from labrecords.reports import photographs
from labrecords.reports.findings import findings, findings_sha256
from labrecords.rules.study_states import IN_REVIEW
from labrecords.web import needs, now

from . import passkeys

SEALED = "The refusal is kept in the record. Nothing was signed."


@needs("see the laboratory")
def queue(request: HttpRequest) -> HttpResponse:
    """What waits for a reviewer, a signatory, or a decision; what waits longest first."""
    may_decide = access.may(request.user, "decide a deviation")
    listing = Listing(
        sorted(_waiting(may_decide), key=lambda row: row["since"]),
        COLUMNS,
        request.GET,
        ("thing that waits", "things that wait"),
        order="what waits longest first",
        nothing=Nothing(
            "Nothing waits. A study comes here when an engineer finishes testing, a deviation or a correction when one "
            "is recorded at the bench.",
            reverse("studies") + "?state=testing",
            "See the studies in testing",
        ),
        choices=(Choice("state", "State", lambda row: row["word"]),),
    )
    return render(request, "review/queue.html", {"listing": listing, "crumbs": [{"label": "Reviews"}]})


COLUMNS = (
    Column("what", "What", lambda row: row["text"]),
    Column("state", "State", lambda row: row["word"]),
    Column("study", "Study", lambda row: str(row["study"])),
    Column("client", "Client", lambda row: row["study"].project.client.name),
    Column("since", "Since", lambda row: row["since"], kind=TIME),
    Column("first", "Look first at", lambda row: ", ".join(row["risks"])),
    Column("not-by", "Not by", lambda row: ", ".join(row["not_by"])),
)


def _waiting(may_decide: bool):
    for row in waiting.reviews(now()):
        word = "Waiting for review" if row.study.state == IN_REVIEW else "Waiting for release"
        url = reverse("study", args=[row.study.code])
        yield _line(row.study, f"Study {row.study.code}", url, ("wait", word), row.since, row.risks, row.not_by)
    for deviation in studies.open_deviations():
        specimen, url = deviation.result.specimen, reverse("decide-deviation", args=[deviation.pk])
        text = f"{'Decide the' if may_decide else 'The'} deviation of {specimen.label}"
        yield _line(specimen.study, text, url if may_decide else "", ("due", "Deviation waits"), deviation.at)
    for correction in corrections.waiting():
        specimen, url = correction.result.specimen, reverse("correction", args=[correction.pk])
        state, text = ("due", "Correction waits"), f"The correction of {specimen.label}"
        yield _line(specimen.study, text, url, state, correction.at, not_by=[correction.by.name])


def _line(study, text: str, url: str, state: tuple[str, str], since, risks=(), not_by=()) -> dict:
    kind, word = state
    line = {"study": study, "text": text, "url": url, "kind": kind, "word": word, "since": since}
    return line | {"risks": list(risks), "not_by": list(not_by)}


@require_POST
@needs("finish testing")
def finish(request: HttpRequest, code: str) -> HttpResponse:
    """Close the bench for this study and put it before a reviewer."""
    study = access.study(request.user, code)
    try:
        actions.finish_testing(study=study, by=request.user, at=now(), why_fewer=request.POST.get("why_fewer", ""))
    except Refused as refused:
        return _refused(request, refused, study)
    messages.success(request, f"{code} waits for a reviewer.")
    return redirect("study", code)


def _refused(request: HttpRequest, refused: Refused, study) -> HttpResponse:
    links = [{"label": f"Back to {study.code}", "url": reverse("study", args=[study.code])}]
    panels = web.panels(refused, kept="The refusal is kept in the record. Nothing else changed.", links=links)
    return render(request, "refused.html", {"refusals": panels}, status=409)


@needs("review a study")
def review(request: HttpRequest, code: str) -> HttpResponse:
    """Read the findings as the report will state them; accept or return."""
    study = access.study(request.user, code)
    found = findings(study)
    form = ReviewForm(request.POST or None, initial={"seen": findings_sha256(found)})
    refused = None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        accept = given["verdict"] == "accept"
        try:
            actions.review(
                study=study, accept=accept, words=given["words"], seen_sha256=given["seen"], by=request.user, at=now()
            )
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{code} is {'accepted; a signatory may release it' if accept else 'returned'}.")
            return redirect("study", code)
    return _read(request, study, found, form, refused, "review/review.html", f"Review {code}")


@needs("release a report")
def release(request: HttpRequest, code: str) -> HttpResponse:
    """The signatory reads what will be printed, and signs with the password."""
    study = access.study(request.user, code)
    found = findings(study)
    holds = second_factors.held(request.user)
    form = ReleaseForm(request.POST or None, initial={"seen": findings_sha256(found)}, holds=holds)
    refused = None
    if request.method == "POST" and form.is_valid():
        seen = form.cleaned_data["seen"]
        try:
            report = release_actions.release(
                study=study, seen_sha256=seen, by=request.user, at=now(), **passkeys.signed(request, form)
            )
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{report.number} is released. Nothing changes it from now on.")
            return redirect("study", code)
    return _read(request, study, found, form, refused, "review/release.html", f"Release {code}")


def _read(request, study, found, form, refused, template: str, label: str) -> HttpResponse:
    if refused is not None and "content-changed" in refused.codes:
        form.data = request.POST.copy()
        form.data["seen"] = findings_sha256(found)
        form.full_clean()
    context = {
        "study": study,
        "content": found | {"photographs": _photographs(study, found)},
        "first": risk.of(study),
        "unknown_limits": derived.unknown_of(study),
        "form": form,
        "meaning": release_actions.MEANING,
        "moment": now(),
        "review": reports.accepted_review(study),
        "testers": reports.testers(study),
        "waiting": reports.open_decisions(study),
        "refusals": web.panels(refused, kept=SEALED) if refused else [],
        "crumbs": [
            {"label": "Reviews", "url": reverse("reviews")},
            {"label": study.code, "url": reverse("study", args=[study.code])},
            {"label": label},
        ],
    }
    return render(request, template, context, status=422 if refused or form.errors else 200)


def _photographs(study, found) -> list[dict]:
    """The photographs that the findings name, each with the address of its picture."""
    urls = {name: reverse("photo", args=[photo.pk]) for name, photo in photographs.named(study)}
    return [row | {"url": urls.get(row["name"], "")} for row in found["photographs"]]


@needs("decide a deviation")
def decide(request: HttpRequest, deviation_id) -> HttpResponse:
    """Decide on a deviation; the value is not shown."""
    deviation = studies.deviation(deviation_id)
    specimen = deviation.result.specimen
    form = DecisionForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            deviations.decide(
                deviation=deviation,
                counts=form.cleaned_data["counts"] == "yes",
                words=form.cleaned_data["words"],
                by=request.user,
                at=now(),
            )
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"The deviation of {specimen.label} is decided.")
            return redirect("reviews")
    context = {
        "deviation": deviation,
        "specimen": specimen,
        "study": specimen.study,
        "form": form,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [{"label": "Reviews", "url": reverse("reviews")}, {"label": f"Deviation of {specimen.label}"}],
    }
    return render(request, "review/decide.html", context, status=422 if refused or form.errors else 200)
