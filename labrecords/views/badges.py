"""Who is at the bench: a badge and its PIN change the person, and the specimen in hand stays in hand."""

from urllib.parse import parse_qs, urlencode, urlsplit

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import Resolver404, resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import badges as actions
from labrecords.forms.badges import BadgeForm
from labrecords.queries import access, bench, studies
from labrecords.rules import labels
from labrecords.web import needs

from . import sessions


@never_cache
@login_not_required
def who(request: HttpRequest) -> HttpResponse:
    """Take a badge and its PIN, and go on where the person before was."""
    onward = _onward(request)
    if not sessions.takes_badges(request):
        return redirect(web.sign_in_url(onward))
    badge = labels.read(request.GET.get("badge", "")[:200])
    form = BadgeForm(request.POST or None, initial={"badge": badge.text if badge else ""})
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        shown = actions.show(label=given["badge"], pin=given["pin"], address=web.address_of(request), at=web.now())
        if shown.person is not None:
            return _take_over(request, shown.person, onward)
        form.add_error("pin", shown.problem + (f" Wait {web.spoken(shown.wait)}, then try again." * bool(shown.wait)))
        return _page(request, form, onward, wait=shown.wait)
    return _page(request, form, onward)


def _onward(request: HttpRequest) -> str:
    """Where to go afterwards, if that is a page here; otherwise to the bench."""
    wanted = request.GET.get("next", "")
    here = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, require_https=request.is_secure())
    return wanted if here else reverse("bench")


def _take_over(request: HttpRequest, person, onward: str) -> HttpResponse:
    if request.user != person:  # whoever is here already keeps what they may do
        sessions.begin_by_badge(request, person)
        messages.success(request, f"{person.name} is at the bench.")
    return redirect(_place(person, onward))


def _place(person, onward: str) -> str:
    """The same place for another person: of a run, the run of their own on the same tester, or the page to open one."""
    parts = urlsplit(onward)
    try:
        match = resolve(parts.path)
        run = studies.run(match.kwargs["run_id"]) if match.view_name == "run" else None
    except (Resolver404, access.NotFound):
        return reverse("bench")
    if run is None or run.person_id == person.pk:
        return onward
    specimen = {"specimen": found[0]} if (found := parse_qs(parts.query).get("specimen")) else {}
    own = bench.own_run_beside(run, person)
    if own is not None:
        return _address(reverse("run", args=[own.pk]), specimen)
    if run.closed_at:
        return reverse("bench")
    return _address(reverse("open-run", args=[run.study.code]), {"from": run.pk} | specimen)


def _address(path: str, query: dict) -> str:
    return f"{path}?{urlencode(query)}" if query else path


def _page(request: HttpRequest, form: BadgeForm, onward: str, *, wait: int = 0) -> HttpResponse:
    first = "pin" if form["badge"].value() and "badge" not in form.errors else "badge"
    form.fields[first].widget.attrs["autofocus"] = True
    context = {
        "form": form,
        "onward": onward,
        "by_password": web.sign_in_url(onward),
        "crumbs": [{"label": "Bench", "url": reverse("bench")}, {"label": "Who is at the bench"}],
    }
    status = 429 if wait else 422 if form.errors else 200
    answer = render(request, "bench/who.html", context, status=status)
    if wait:
        answer["Retry-After"] = str(wait)
    return answer


@require_POST
@needs("open a run")
def lock(request: HttpRequest) -> HttpResponse:
    """Leave the bench to whoever shows the next badge; drafts and entries on the device stay there."""
    onward = _onward(request)
    sessions.lock(request)
    return redirect(f"{reverse('who')}?{urlencode({'next': onward})}")
