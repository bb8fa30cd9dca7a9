"""People: who is here, in which role, authorised for what until when; and the manager's acts on them."""

from django.contrib import messages
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import people as actions
from labrecords.actions import second_factors as factor_actions
from labrecords.actions.refusals import Refused
from labrecords.forms.listing import Choice, Column, Listing, Nothing
from labrecords.forms.people import AuthorisationForm, PersonForm, RolesForm, TokenForm, WithdrawalForm
from labrecords.forms.review import ReasonForm
from labrecords.forms.second_factors import EndForm
from labrecords.queries import access, badges, clients, lab, people, second_factors, studies
from labrecords.web import needs, now


@needs("see the laboratory")
def people_list(request: HttpRequest) -> HttpResponse:
    """Everybody, with roles and authorisations."""
    today, used = lab.day(now()), people.used_by_version(now())
    rows = [_row(person, today, used) for person in studies.people()]
    context = {
        "listing": Listing(
            rows, COLUMNS, request.GET, ("account", "accounts"), order="by name", nothing=NOTHING, choices=CHOICES
        ),
        "may_keep": access.may(request.user, "keep people"),
        "crumbs": [{"label": "People"}],
    }
    return render(request, "people/list.html", context)


COLUMNS = (
    Column("name", "Name", lambda row: row["person"].name, lambda row: _named(row["person"])),
    Column("roles", "Roles", lambda row: ", ".join(row["roles"])),
    Column("authorised", "Authorised for", lambda row: "; ".join(held["words"] for held in row["authorisations"])),
)
CHOICES = (
    Choice("role", "Role", lambda row: row["roles"]),
    Choice("account", "Account", lambda row: "open" if row["person"].is_active else "closed"),
)
NOTHING = Nothing("Nobody has an account.")  # never seen: whoever reads it has one


def _named(person) -> str:
    company = f", {person.client.name}" if person.client else ""
    return f"{person.name}{company}{'' if person.is_active else ' (closed)'}"


def _row(person, today, used) -> dict:
    return {
        "person": person,
        "roles": sorted(group.name for group in person.groups.all()),
        "authorisations": [_authorisation(held, today, used) for held in person.authorisations.all()],
    }


def _authorisation(held, today, used) -> dict:
    """How an authorisation stands: until when by its date, its withdrawal, or for want of use."""
    until = people.last_day_of(held, used)
    over = until < today
    return {
        "held": held,
        "words": f"{held.method_version}, technique {held.technique}",
        "until": until,
        "lapses": until < held.until_on and not hasattr(held, "withdrawal"),
        "withdrawn": hasattr(held, "withdrawal"),
        "kind": "stop" if over else "ok",
        "state": "Ended" if over else "Holds",
    }


@needs("see the laboratory")
def person(request: HttpRequest, username: str) -> HttpResponse:
    """One person: roles, authorisations with their evidence, tokens."""
    found = people.person(username)
    context = {
        "row": _row(found, lab.day(now()), people.used_by_version(now())),
        "tokens": list(found.tokens.all()),
        "factors": second_factors.every(found),
        "badges": badges.every(found),
        "may_keep": access.may(request.user, "keep people"),
        "may_authorise": access.may(request.user, "authorise people"),
        "token_form": TokenForm(),
        "crumbs": [{"label": "People", "url": reverse("people")}, {"label": found.name}],
    }
    return render(request, "people/person.html", context)


@needs("keep people")
def add(request: HttpRequest) -> HttpResponse:
    """Somebody joins."""
    form = PersonForm(request.POST or None)
    form.fields["client"].offer([(client.pk, client.name) for client in clients.listed()])
    if request.method == "POST" and form.is_valid() and _add(request, form):
        return redirect("person", form.cleaned_data["username"])
    return _page(request, form, "Add a person", "Add")


def _add(request: HttpRequest, form: PersonForm) -> bool:
    given = dict(form.cleaned_data)
    client = given.pop("client")
    try:
        validate_password(given["password"])
        actions.add_person(client=clients.client(client) if client else None, by=request.user, at=now(), **given)
    except ValidationError as weak:
        form.add_error("password", weak.messages)
        return False
    except IntegrityError:
        form.add_error("username", "This user name has been used, and is never used again. Choose another.")
        return False
    messages.success(request, f"{given['name']} may sign in. Give them the password by hand.")
    return True


@needs("keep people")
def roles(request: HttpRequest, username: str) -> HttpResponse:
    """The roles a person has from now on."""
    found = people.person(username)
    form = RolesForm(request.POST or None, initial={"roles": sorted(found.roles)})
    if request.method == "POST" and form.is_valid():
        try:
            actions.change_roles(person=found, roles=form.cleaned_data["roles"], by=request.user, at=now())
        except ValueError as refused:
            form.add_error("roles", str(refused))
        else:
            messages.success(request, f"The roles of {found.name} hold from the next page on.")
            return redirect("person", username)
    return _page(request, form, f"Roles of {found.name}", "Give these roles", found)


@needs("keep people")
def close(request: HttpRequest, username: str) -> HttpResponse:
    """End a person's access at once."""
    found = people.person(username)
    form = ReasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            actions.close_account(person=found, reason=form.cleaned_data["reason"], by=request.user, at=now())
        except ValueError as refused:
            form.add_error("reason", str(refused))
        else:
            messages.success(request, f"{found.name} can no longer sign in. What they did stays, under their name.")
            return redirect("person", username)
    return _page(request, form, f"Close the account of {found.name}", "Close the account", found)


@needs("keep people")
def end_factor(request: HttpRequest, factor_id) -> HttpResponse:
    """End a person's second factor, such as a lost telephone."""
    factor = second_factors.by_id(factor_id)
    form = EndForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            factor_actions.end_for(factor=factor, reason=form.cleaned_data["reason"], by=request.user, at=now())
        except (ValueError, Refused) as refused:
            form.add_error("reason", str(refused))
        else:
            messages.success(request, f"The {factor} of {factor.person.name} is taken no longer.")
            return redirect("person", factor.person.username)
    return _page(request, form, f"End the {factor} of {factor.person.name}", "End it", factor.person)


@needs("authorise people")
def authorise(request: HttpRequest, username: str) -> HttpResponse:
    """Authorise a person for a technique of a method version."""
    found = people.person(username)
    form = AuthorisationForm(request.POST or None, initial={"from_on": lab.day(now())})
    form.fields["method_version"].offer([(version.pk, str(version)) for version in studies.method_versions()])
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        given["method_version"] = studies.method_version(given["method_version"])
        actions.authorise(person=found, by=request.user, at=now(), **given)
        messages.success(request, f"{found.name} is authorised for technique {given['technique']}.")
        return redirect("person", username)
    return _page(request, form, f"Authorise {found.name}", "Authorise", found)


@needs("authorise people")
def withdraw(request: HttpRequest, authorisation_id) -> HttpResponse:
    """End an authorisation before its last day."""
    held = people.authorisation(authorisation_id)
    form = WithdrawalForm(request.POST or None, initial={"from_on": lab.day(now())})
    if request.method == "POST" and form.is_valid():
        try:
            actions.withdraw(authorisation=held, by=request.user, at=now(), **form.cleaned_data)
        except IntegrityError:
            form.add_error("from_on", "This authorisation has been withdrawn already.")
        else:
            messages.success(request, "The authorisation is withdrawn.")
            return redirect("person", held.person.username)
    return _page(request, form, f"Withdraw: {held}", "Withdraw", held.person)


@require_POST
@needs("keep people")
def give_token(request: HttpRequest, username: str) -> HttpResponse:
    """A new token, shown once."""
    found = people.person(username)
    form = TokenForm(request.POST)
    if not form.is_valid():
        return _page(request, form, f"A token for {found.name}", "Give a token", found)
    token = actions.give_token(person=found, by=request.user, at=now(), **form.cleaned_data)
    context = {"token": token, "person": found, "label": form.cleaned_data["label"], "crumbs": _crumbs(found, "Token")}
    return render(request, "people/token.html", context)


@require_POST
@needs("keep people")
def revoke_token(request: HttpRequest, token_id) -> HttpResponse:
    """End a token."""
    found = people.token(token_id)
    if found.revoked_at is None:
        actions.revoke_token(token=found, by=request.user, at=now())
    messages.success(request, f"The token of {found.label} is refused from now on.")
    return redirect("person", found.person.username)


def _crumbs(person, label: str) -> list[dict]:
    between = [{"label": person.name, "url": reverse("person", args=[person.username])}] if person else []
    return [{"label": "People", "url": reverse("people")}, *between, {"label": label}]


def _page(request: HttpRequest, form, heading: str, button: str, person=None) -> HttpResponse:
    return web.form_page(request, form, heading, button, _crumbs(person, heading))
