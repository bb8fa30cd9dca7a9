"""Clients and projects."""

from datetime import datetime

from django.db import transaction

from labrecords.models import Client, Project, User
from labrecords.queries import access

from . import trail


@transaction.atomic(durable=True)
def add_client(
    *, code: str, name: str, address: str, contact_name: str, contact_email: str = "", by: User, at: datetime
) -> Client:
    """A client, with the contact to whom reports are addressed."""
    access.demand(by, "keep clients")
    client = Client.objects.create(
        code=code, name=name, address=address, contact_name=contact_name, contact_email=contact_email
    )
    trail.write("client.added", subject=f"client {code}", by=by, at=at, after={"name": name})
    return client


@transaction.atomic(durable=True)
def add_project(*, client: Client, code: str, title: str, by: User, at: datetime) -> Project:
    """A project of a client."""
    access.demand(by, "keep clients")
    project = Project.objects.create(client=client, code=code, title=title)
    after = {"client": client.code, "title": title}
    trail.write("project.added", subject=f"project {code}", by=by, at=at, after=after)
    return project
