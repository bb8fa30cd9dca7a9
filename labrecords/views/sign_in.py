"""Signing in: tries are kept, and guessing is made slow without locking anybody out."""

from datetime import datetime
from urllib.parse import urlencode

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from labrecords import web
from labrecords.actions import sign_ins as actions
from labrecords.queries import second_factors, sign_ins
from labrecords.rules.guessing import wait_s

from . import pending, sessions


class SlowForm(AuthenticationForm):
    """Name and password; while a wait lasts they are not even looked at, whatever they are."""

    def clean(self):
        self.wait = wait_before(self.request, self.cleaned_data.get("username") or "", web.now())
        if self.wait:
            raise ValidationError(f"There were many tries that failed. Wait {web.spoken(self.wait)}, then try again.")
        return super().clean()


class SignIn(LoginView):
    """The sign-in page."""

    authentication_form = SlowForm

    def get(self, request: HttpRequest, *args, **kwargs) -> HttpResponse:
        """The page; at a bench that waits for a badge, the page that takes it comes first."""
        waits = not request.user.is_authenticated and sessions.takes_badges(request)
        if waits and "password" not in request.GET:
            return redirect(f"{reverse('who')}?{urlencode({'next': self.get_redirect_url()})}")
        return super().get(request, *args, **kwargs)

    def form_valid(self, form) -> HttpResponse:
        """Signed in, or asked for the second factor by who has one; the try has gone well when both have."""
        person = form.get_user()
        if second_factors.held(person).any:
            pending.begin(self.request, person, next_page=self.get_success_url())
            return redirect("sign-in-second")
        note(self.request, form, succeeded=True)
        sessions.begin(self.request, person)
        return redirect(self.get_success_url())

    def form_invalid(self, form) -> HttpResponse:
        """Not signed in; told the same whether or not anybody has that name."""
        note(self.request, form, succeeded=False)
        answer = super().form_invalid(form)
        if getattr(form, "wait", 0):
            answer.status_code, answer["Retry-After"] = 429, str(form.wait)
        return answer


def wait_before(request: HttpRequest, username: str, now: datetime) -> int:
    """Seconds before this name may be tried from this address."""
    return wait_s(sign_ins.tries(username, web.address_of(request), now))


def note(request: HttpRequest, form: AuthenticationForm, *, succeeded: bool) -> None:
    """Keep a try that was looked at; one that only met a wait does not make it longer."""
    username = form.data.get("username", "")
    if username and not getattr(form, "wait", 0):
        actions.keep(username=username, address=web.address_of(request), succeeded=succeeded, at=web.now())
