"""Clients and their projects."""

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import clients as actions
from labrecords.forms.clients import ClientForm, ProjectForm
from labrecords.forms.listing import Column, Listing, Nothing
from labrecords.queries import access, clients
from labrecords.web import needs, now

TAKEN = "This code is taken. Choose another."


@needs("see the laboratory")
def client_list(request: HttpRequest) -> HttpResponse:
    """Every client, with contacts and projects."""
    may_keep = access.may(request.user, "keep clients")
    context = {
        "listing": _listing(request, may_keep),
        "may_keep": may_keep,
        "crumbs": [{"label": "Clients"}],
    }
    return render(request, "clients/list.html", context)


COLUMNS = (
    Column("client", "Client", lambda client: client.name, lambda client: f"{client.name} ({client.code})"),
    Column("contact", "Contact", lambda client: client.contact_name, lambda client: _contact(client)),
    Column("projects", "Projects", lambda client: " ".join(str(project) for project in client.projects.all())),
    Column("readers", "May read reports", lambda client: " ".join(person.name for person in client.contacts.all())),
)


def _contact(client) -> str:
    return ", ".join(filter(None, [client.contact_name, client.contact_email]))


def _listing(request: HttpRequest, may_keep: bool) -> Listing:
    nothing = Nothing("There is no client yet. An engineer or a manager adds the first one.")
    if may_keep:
        nothing = Nothing(
            "There is no client yet. Add one, then a project of it: a study belongs to a project.",
            reverse("new-client"),
            "Add the first client",
        )
    found = list(clients.listed())
    return Listing(found, COLUMNS, request.GET, ("client", "clients"), order="by name", nothing=nothing)


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
