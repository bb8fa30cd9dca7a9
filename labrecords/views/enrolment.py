"""People of the roles in SECOND_FACTOR_ROLES add a second factor before any other page opens.

Who is at the bench by badge has shown two things already, and does nothing that such a role is for.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labrecords.queries import second_factors

OPEN = {"own-factors", "add-app", "add-passkey", "passkey-challenge", "sign-out", "help", "who"}


class AsksToEnrol:
    """Leads whoever must have a second factor, and has none, to where one is added. Tokens are not asked."""

    def __init__(self, get_response: Callable) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, _view: Callable, _args, _kwargs) -> HttpResponse | None:
        """Nothing is done by a form sent before; a page asked for gives way to the page Signing in."""
        here = request.resolver_match
        if not request.user.is_authenticated or (not here.namespaces and here.url_name in OPEN):
            return None
        if request.user.by_badge or not second_factors.must_enrol(request.user):
            return None
        if request.method in ("GET", "HEAD"):
            return redirect("own-factors")
        return render(request, "account/enrol_first.html", status=403)
