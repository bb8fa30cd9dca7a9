"""What every page shares: the moment, the person, refusals as pages, and who sees which entry of the navigation."""

import functools
import ipaddress
import json
import uuid
from collections.abc import Callable
from datetime import datetime
from urllib.parse import urlencode

from django.conf import settings
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from labrecords.files import spreadsheet
from labrecords.queries import access, lab
from labrecords.rules import wording
from labrecords.rules.answers import Answer, Kind

NAVIGATION = [
    ("Studies", "studies", "see the laboratory"),
    ("Bench", "bench", "open a run"),
    ("Reviews", "reviews", "review a study"),
    ("Limits", "limits", "see the laboratory"),
    ("Due", "due", "see the laboratory"),
    ("Equipment", "equipment", "see the laboratory"),
    ("People", "people", "see the laboratory"),
    ("Clients", "clients", "see the laboratory"),
    ("Methods", "methods", "see the laboratory"),
    ("Nonconforming", "nonconforming", "see the laboratory"),
    ("Refusals", "refusals", "see the laboratory"),
    ("Reports", "portal:reports", "read own reports"),
    ("Protocols", "own-protocols", "agree to a protocol"),
]


CLOCK = timezone.now  # tests set another


def now() -> datetime:
    """The moment of a request, from the server's clock; read once and passed on."""
    return CLOCK()


def address_of(request: HttpRequest) -> str:
    """From where a request came: as the outermost of our own proxies saw it, where there are some."""
    told = [part.strip() for part in request.META.get("HTTP_X_FORWARDED_FOR", "").split(",") if part.strip()]
    own = settings.TRUSTED_PROXIES
    found = told[-own] if own and len(told) >= own else request.META.get("REMOTE_ADDR", "")
    try:
        return str(ipaddress.ip_address(found))
    except ValueError:
        return "not known"


def spoken(seconds: int) -> str:
    """A wait as people say it.

    >>> spoken(1), spoken(90)
    ('1 second', '2 minutes')
    """
    if seconds <= 60:
        return f"{seconds} second{'s' if seconds != 1 else ''}"
    return f"{-(-seconds // 60)} minutes"


def wants_json(request: HttpRequest) -> bool:
    """Whether a script of ours asks; a browser that opens a page names HTML first."""
    return request.headers.get("Accept", "").strip() == "application/json"


class LabMiddleware:
    """Times are shown in the laboratory's zone; what is not there or not allowed is answered in one way."""

    def __init__(self, get_response: Callable) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        known = request.user.is_authenticated
        with lab.asked_once(), timezone.override(lab.zone() if known else timezone.get_default_timezone()):
            response = self.get_response(request)
        if request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """A missing thing and one that is not yours read the same; a role that does not allow it says so."""
        if request.path.startswith("/api/"):
            return None
        if isinstance(exception, access.NotFound):
            if wants_json(request):
                return JsonResponse({"outcome": "missing"}, status=404)
            return render(request, "404.html", status=404)
        if isinstance(exception, access.NotAllowed):
            return not_allowed(request, exception)
        return None


def not_allowed(request: HttpRequest, exception: access.NotAllowed) -> HttpResponse:
    """The page for an act that the person's roles do not allow."""
    links = (
        [{"label": "Sign in with name and password", "url": sign_in_url(request.get_full_path())}]
        if request.user.by_badge
        else []
    )
    panel = panel_of(Answer("not-allowed", str(exception)), tried=exception.act, links=links)
    if wants_json(request):
        told = {"outcome": "refused", "codes": ["not-allowed"], "panels": [panel], "conflict": ""}
        return JsonResponse(told, status=403)
    return render(request, "refused.html", {"refusals": [panel]}, status=403)


def sign_in_url(onward: str) -> str:
    """Where name and password are asked for, whatever else would do there, on the way to a page."""
    return f"{reverse('sign-in')}?{urlencode({'password': 1, 'next': onward})}"


def page_context(request: HttpRequest) -> dict:
    """What base.html needs on every page."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"version": settings.VERSION}
    laboratory = lab.laboratory()
    return {
        "version": settings.VERSION,
        "may_search": access.may(user, "see the laboratory"),
        "enters": access.may(user, "open a run"),
        "lab_name": laboratory.name if laboratory else "Laboratory records",
        "nav": [
            {"label": label, "url": reverse(name), "current": request.path.startswith(reverse(name))}
            for label, name, act in NAVIGATION
            if access.may(user, act)
        ],
    }


def panel_of(
    answer: Answer, *, tried: str, at: datetime | None = None, kept: str = "", links: list | None = None
) -> dict:
    """One reason as the eight parts of a refusal panel."""
    words = wording.WORDS[answer.code]
    asks = words.kind is Kind.CHECK  # one more press answers it
    return {
        "headline": f"{'Check' if asks else 'Not recorded'}: {words.headline}.",
        "asks": asks,
        "tried": tried,
        "rule": words.rule,
        "facts": [answer.why],
        "kept": kept or "The refusal is kept in the record. What you typed is still on this page.",
        "who": words.who,
        "todo": words.next,
        "next": links or [],
        "code": answer.code,
        "at": at,
    }


def panels(
    refused, *, kept: str = "", links: list | None = None, ways: Callable[[Answer], list] | None = None
) -> list[dict]:
    """All reasons of a stored refusal as panels, in the order in which they were given.

    links : pages to which all of them lead on; ways : those of one reason, where each has its own.
    """
    refusal = refused.refusal
    return [
        panel_of(answer, tried=refusal.tried, at=refusal.at, kept=kept, links=ways(answer) if ways else links)
        for answer in refused.answers
    ]


def forewarnings(answers) -> list[dict]:
    """What would be refused if it were tried now, for a page to say beforehand."""
    return [
        {"headline": wording.WORDS[answer.code].headline, "why": answer.why, "who": wording.WORDS[answer.code].who}
        for answer in answers
    ]


def new_key() -> uuid.UUID:
    """The key of an entry that is about to be made; hidden in its form, so that a second press is harmless."""
    return uuid.uuid4()


def needs(act: str) -> Callable:
    """A page only for people whose roles allow the act."""

    def decorate(view: Callable) -> Callable:
        @functools.wraps(view)
        def checked(request: HttpRequest, *args, **kwargs) -> HttpResponse:
            access.demand(request.user, act)
            return view(request, *args, **kwargs)

        checked.needs = act
        return checked

    return decorate


def put_on_form(form, error: ValidationError) -> None:
    """Lay a record's own complaints beside the fields they are about."""
    for field, problems in getattr(error, "error_dict", {None: error.error_list}).items():
        form.add_error(field if field in form.fields else None, problems)


def study_crumbs(code: str, *last: dict) -> list[dict]:
    """The way from the list of studies, past one of them, to a page about it."""
    study = {"label": code, "url": reverse("study", args=[code])}
    return [{"label": "Studies", "url": reverse("studies")}, study, *last]


def form_page(
    request: HttpRequest, form, heading: str, button: str, crumbs: list, *, refused=None, words: str = "", study=None
) -> HttpResponse:
    """A page with one form; under a study, the way back to it stands beside the button."""
    context = {
        "form": form,
        "study": study,
        "heading": heading,
        "button": button,
        "words": words,
        "refusals": panels(refused) if refused else [],
        "crumbs": crumbs,
    }
    return render(request, "studies/form.html", context, status=422 if refused or form.errors else 200)


def figure_context(figure) -> dict:
    """A figure as parts/figure.html takes it."""
    from labrecords.charts.plotly_figure import spec

    return {
        "id": figure.id,
        "title": figure.title,
        "subtitle": figure.subtitle,
        "label": figure.label,
        "summary": figure.summary,
        "spec_json": json.dumps(spec(figure)),
        "table": figure.table,
        "csv": spreadsheet.address(figure.table.columns, figure.table.rows) if figure.table else "",
    }
