"""Forms for clients and projects."""

from django import forms

from .fields import Choice, Plain, Text, Words


class ClientForm(Plain):
    """A client, with the contact to whom reports are addressed."""

    code = Text(label="Short code", max_length=20)
    name = Text(label="Name")
    address = Words(label="Address", rows=2)
    contact_name = Text(label="Contact")
    contact_email = forms.EmailField(label="E-mail of the contact", required=False)


class ProjectForm(Plain):
    """A piece of work for one client."""

    client = Choice(label="Client", empty="Choose a client")
    code = Text(label="Project code", max_length=30)
    title = Text(label="Title")
