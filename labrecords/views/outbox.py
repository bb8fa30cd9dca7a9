"""Entries that a device keeps until they are sent: the answers its script is given, and the pages about them."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags
from django.views.decorators.http import require_GET, require_POST

from labrecords import web
from labrecords.actions import outbox as actions
from labrecords.forms.runs import SetAsideForm
from labrecords.queries import outbox, studies
from labrecords.templatetags.look import lab_time
from labrecords.web import needs, now

WORKER = settings.BASE_DIR / "static" / "js" / "outbox_worker.js"


def another_person(request: HttpRequest) -> HttpResponse | None:
    """The answer to an entry that somebody else typed on this device: it waits until they have signed in again."""
    typed_by = request.headers.get("X-Person")
    if typed_by is None or typed_by == str(request.user.pk):
        return None
    return JsonResponse({"outcome": "sign-in", "why": "Somebody else is signed in."}, status=401)


def kept(result, said: str, following) -> JsonResponse:
    """A result was kept: when it arrived, and which specimen comes next."""
    answer = {
        "outcome": "kept",
        "said": said,
        "specimen": result.specimen.label,
        "at": result.at.isoformat(),
        "at_words": f"{timezone.localtime(result.at):%H:%M:%S}",
        "next": following.label if following else "",
    }
    return JsonResponse(answer, status=201)


def kept_photograph(photo, said: str) -> JsonResponse:
    """A photograph was kept, and with what."""
    at_words = f"{timezone.localtime(photo.at):%H:%M:%S}"
    return JsonResponse({"outcome": "kept", "said": said, "at_words": at_words}, status=201)


def refused(refusal, *, status: int, confirm: str = "", ways=None) -> JsonResponse:
    """An entry was refused: every reason as a panel, and where both values are shown if somebody was before.

    `confirm` is what the form says once one more press has answered all of them; empty where none does. `ways` gives
    the pages to which a reason leads on.
    """
    panels = [panel | {"at": strip_tags(lab_time(panel["at"]))} for panel in web.panels(refusal, ways=ways)]
    answer = {"outcome": "refused", "codes": list(refusal.codes), "panels": panels, "conflict": "", "confirm": confirm}
    if outbox.CONFLICT in refusal.codes:
        answer["conflict"] = reverse("conflict", args=[refusal.refusal.pk])
    return JsonResponse(answer, status=status)


def not_understood(form) -> JsonResponse:
    """What was typed cannot be read as an entry; nothing was recorded."""
    problems = [
        {"field": name, "label": str(form[name].label or "") if name in form.fields else "", "problem": problem}
        for name, found in form.errors.items()
        for problem in found
    ]
    return JsonResponse({"outcome": "not-understood", "problems": problems}, status=422)


@needs("open a run")
@require_GET
def not_sent(request: HttpRequest) -> HttpResponse:
    """What this device has not sent, or was refused on arrival; a script is told who is signed in, and the time."""
    if web.wants_json(request):
        get_token(request)  # so that the device has one to send its entries with
        return JsonResponse({"outcome": "hello", "person": str(request.user.pk), "now": now().isoformat()})
    context = {"crumbs": [{"label": "Bench", "url": reverse("bench")}, {"label": "Not yet sent"}]}
    return render(request, "bench/not_sent.html", context)


@needs("open a run")
@require_GET
def conflict(request: HttpRequest, refusal_id) -> HttpResponse:
    """Two values for one specimen: the one that is kept, and the one that came second."""
    found = outbox.conflict(refusal_id, reader=request.user)
    context = {"conflict": found, "crumbs": [{"label": "Bench", "url": reverse("bench")}, {"label": "Two values"}]}
    return render(request, "bench/conflict.html", context)


@needs("open a run")
@require_POST
def set_aside(request: HttpRequest, run_id) -> HttpResponse:
    """Set an entry aside that was refused: what was typed and the reason are kept with the refusals."""
    run, form = studies.run(run_id), SetAsideForm(request.POST)
    if other := another_person(request):
        return other
    if not form.is_valid():
        return not_understood(form)
    done = actions.set_aside(run=run, by=request.user, at=now(), **form.cleaned_data)
    return JsonResponse({"outcome": "set-aside" if done else "kept"})


@login_not_required
@require_GET
def worker(_request: HttpRequest) -> HttpResponse:
    """The script that opens a run's page while the server is away; its address bounds what it may touch."""
    answer = HttpResponse(WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache"
    return answer
