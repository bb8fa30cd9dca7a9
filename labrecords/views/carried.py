"""A form that came too late: its fields and where they were going, carried from page to page of the sign-in."""

import json
from dataclasses import dataclass

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


@dataclass(frozen=True)
class Carried:
    """Names and values of a form, and the address to which it goes."""

    fields: list[list[str]]
    path: str

    @property
    def context(self) -> dict[str, object]:
        """As the templates in registration/ take it."""
        return {"typed": json.dumps(self.fields), "path": self.path, "shown": self.fields}


def read(request: HttpRequest) -> Carried | None:
    """What a form of the sign-in carries; None where it carries nothing that can be read, or leads elsewhere."""
    fields, path = _fields(request.POST.get("typed", "")), request.POST.get("path", "")
    return Carried(fields, path) if fields is not None and _here(request, path) else None


def _fields(text: str) -> list[list[str]] | None:
    try:
        found = json.loads(text)
    except ValueError:
        return None
    good = isinstance(found, list) and all(
        isinstance(pair, list) and len(pair) == 2 and all(isinstance(part, str) for part in pair) for pair in found
    )
    return found if good else None


def _here(request: HttpRequest, path: str) -> bool:
    """Whether it is a page of ours: nobody is sent elsewhere with what they typed."""
    return path.startswith("/") and url_has_allowed_host_and_scheme(path, allowed_hosts={request.get_host()})
