"""Clients and their projects."""

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import clients as actions
from labrecords.forms.clients import ClientForm, ProjectForm
from labrecords.queries import access, clients
from labrecords.web import needs, now

TAKEN = "This code is taken. Choose another."


@needs("see the laboratory")
def client_list(request: HttpRequest) -> HttpResponse:
    """Every client, with contacts and projects."""
    context = {
        "rows": list(clients.listed()),
        "may_keep": access.may(request.user, "keep clients"),
        "crumbs": [{"label": "Clients"}],
    }
    return render(request, "clients/list.html", context)


@needs("keep clients")
def add_client(request: HttpRequest) -> HttpResponse:
    """A client."""
    form = ClientForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = actions.add_client(by=request.user, at=now(), **form.cleaned_data)
        except IntegrityError:
            form.add_error("code", TAKEN)
        else:
            messages.success(request, f"{made.name} is a client. Add a project next.")
            return redirect("clients")
    return _page(request, form, "Add a client", "Add the client")


@needs("keep clients")
def add_project(request: HttpRequest) -> HttpResponse:
    """A project of a client."""
    form = ProjectForm(request.POST or None)
    form.fields["client"].offer([(client.pk, client.name) for client in clients.listed()])
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        given["client"] = clients.client(given["client"])
        try:
            made = actions.add_project(by=request.user, at=now(), **given)
        except IntegrityError:
            form.add_error("code", TAKEN)
        else:
            messages.success(request, f"Studies may be planned under {made}.")
            return redirect("clients")
    return _page(request, form, "Add a project", "Add the project")


def _page(request: HttpRequest, form, heading: str, button: str) -> HttpResponse:
    crumbs = [{"label": "Clients", "url": reverse("clients")}, {"label": heading}]
    return web.form_page(request, form, heading, button, crumbs)
