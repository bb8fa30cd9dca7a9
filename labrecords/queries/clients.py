"""Clients and their projects."""

from django.db.models import QuerySet

from labrecords.models import Client

from .access import NotFound


def listed() -> QuerySet[Client]:
    """Every client with its projects and contacts."""
    return Client.objects.prefetch_related("projects", "contacts")


def every() -> QuerySet[Client]:
    """Every client by name."""
    return Client.objects.order_by("name")


def client(client_id) -> Client:
    """A client by its identifier."""
    found = Client.objects.filter(pk=client_id).first()
    if found is None:
        raise NotFound(str(client_id))
    return found
