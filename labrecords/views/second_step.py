"""The second step of signing in: what is shown after the password, by whoever has a second factor."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from labrecords import web
from labrecords.actions import second_factors as actions
from labrecords.actions import sign_ins
from labrecords.actions.refusals import Refused
from labrecords.forms.second_factors import SecondStepForm
from labrecords.queries import second_factors

from . import carried, passkeys, pending, sessions
from .sign_in import wait_before

LATE = "The time for the second step has passed. Nothing was recorded: sign in anew."


@never_cache
@login_not_required
def second_step(request: HttpRequest) -> HttpResponse:
    """Ask for the second factor; only what is right signs anybody in."""
    person, typed = pending.person(request), carried.read(request)
    if person is None:
        return _anew(request, typed)
    if request.method != "POST":
        return ask(request, person, typed)
    form = SecondStepForm(request.POST, holds=second_factors.held(person))
    wait = wait_before(request, person.username, web.now())
    if wait:
        form.add_error(None, f"There were many tries that failed. Wait {web.spoken(wait)}, then try again.")
    elif form.is_valid() and _shown(request, person, form):
        return _signed_in(request, person, typed)
    return _page(request, form, typed, status=429 if wait else 422, wait=wait)


def ask(request: HttpRequest, person, typed) -> HttpResponse:
    """The page of the second step, with nothing shown yet; what was typed before is carried along."""
    return _page(request, SecondStepForm(holds=second_factors.held(person)), typed, status=200)


def _shown(request: HttpRequest, person, form: SecondStepForm) -> bool:
    try:
        actions.show_at_sign_in(given=passkeys.given(request, form), by=person, at=web.now())
    except Refused as refused:
        for answer in refused.answers:
            form.add_error("one_time_code", answer.why)
    keep(request, person, succeeded=not form.errors)
    return not form.errors


def keep(request: HttpRequest, person, *, succeeded: bool) -> None:
    """Keep the try: a sign-in has gone well only when all of it has."""
    sign_ins.keep(username=person.username, address=web.address_of(request), succeeded=succeeded, at=web.now())


def _signed_in(request: HttpRequest, person, typed) -> HttpResponse:
    next_page = pending.next_page(request)
    del request.session[pending.STEP]
    sessions.begin(request, person)
    if typed is not None:
        return render(request, "registration/send.html", typed.context)
    return redirect(next_page)


def _anew(request: HttpRequest, typed) -> HttpResponse:
    if typed is not None:
        return render(request, "registration/again.html", {**typed.context, "late": LATE}, status=401)
    return redirect("sign-in")


def _page(request: HttpRequest, form, typed, *, status: int, wait: int = 0) -> HttpResponse:
    context = {**(typed.context if typed else {}), "form": form}
    answer = render(request, "registration/second.html", context, status=status)
    if wait:
        answer["Retry-After"] = str(wait)
    return answer
