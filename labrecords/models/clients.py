"""Clients, and the projects under which their studies and reports stand."""

from django.db import models

from .base import Table


class Client(Table):
    """A company that sends pouches to be tested and reads the reports of its own projects."""

    code = models.CharField(max_length=20, unique=True)
    name = models.TextField()
    address = models.TextField()
    contact_name = models.TextField()
    contact_email = models.EmailField(blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name


class Project(Table):
    """A piece of work for one client; studies belong to it."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="projects")
    code = models.CharField(max_length=30, unique=True)
    title = models.TextField()

    class Meta:
        ordering = ["code"]

    def __str__(self):
        return f"{self.code} {self.title}"
