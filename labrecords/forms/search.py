"""The field in the head of every page of the laboratory."""

from django import forms


class SearchForm(forms.Form):
    """A code or some words."""

    q = forms.CharField(label="Search", required=False, max_length=100)
