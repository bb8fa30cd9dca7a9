"""Signing in again with a form in hand: what was typed is carried along, and sent once more by whoever signed in."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.views.decorators.http import require_POST

from labrecords.queries import second_factors

from . import carried, pending, sessions
from .second_step import ask
from .sign_in import SlowForm, note


@login_not_required
@require_POST
def sign_in_again(request: HttpRequest) -> HttpResponse:
    """Sign in, and show what was typed with a button that sends it."""
    typed = carried.read(request)
    if typed is None:
        return HttpResponseBadRequest("The form that was to be sent again cannot be read.")
    form = SlowForm(request, data=request.POST)
    if not form.is_valid():
        note(request, form, succeeded=False)
        context = {**typed.context, "form": form}
        return render(request, "registration/again.html", context, status=429 if form.wait else 422)
    person = form.get_user()
    if second_factors.held(person).any:
        pending.begin(request, person, next_page=typed.path)
        return ask(request, person, typed)
    note(request, form, succeeded=True)
    sessions.begin(request, person)
    return render(request, "registration/send.html", typed.context)
