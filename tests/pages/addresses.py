"""Every address that the system answers, as its resolver tells them, those below another one too."""

import re
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.resolvers import RegexPattern

PART = re.compile(r"<(?:(\w+):)?(\w+)>")
BEHIND_A_LINK = "linked:"
NOTHING = {"uuid": uuid.UUID(int=7), "int": 99}


@dataclass(frozen=True)
class Address:
    """An address with its parts still open. One without a name is called after the addresses it stands among."""

    name: str
    route: str
    pattern: URLPattern

    @property
    def act(self) -> str | None:
        """What opening it asks for, as the code itself says."""
        view = self.pattern.callback
        return getattr(view, "needs", getattr(getattr(view, "cls", None), "needs", None))

    @property
    def kind(self) -> str:
        """Which face answers: "api", "portal", or "page" for those of the laboratory."""
        return self.name.partition(":")[0] if ":" in self.name else "page"

    @property
    def parts(self) -> dict[str, object]:
        """What can be filled in, each with something that is not there."""
        return {part: NOTHING.get(kind, "S-2026-9999") for kind, part in PART.findall(self.route)}

    def filled(self, values: Mapping[str, object]) -> str:
        """The address with these parts; what is not given is something that is not there."""
        wanted = self.parts | {part: values[part] for part in self.parts if part in values}
        return PART.sub(lambda part: str(wanted[part[2]]), self.route)

    def thing(self, part: str) -> str:
        """What a part names: the word before it in the address, and its own."""
        before = self.route.partition(f":{part}>")[0].rpartition("<")[0].removeprefix("/api/")
        words = [word for word in PART.sub("", before).split("/") if word]
        return f"{words[0]} {part}"


def every() -> dict[str, Address]:
    """All of them by name, but for those behind a link, where nobody is signed in: tests/links/ has their table."""
    walked = _walk(get_resolver(), "/", "")
    return {address.name: address for address in walked if not address.name.startswith(BEHIND_A_LINK)}


def _walk(resolver: URLResolver, stem: str, space: str) -> Iterator[Address]:
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            inner = f"{space}{pattern.namespace}:" if pattern.namespace else space
            yield from _walk(pattern, stem + str(pattern.pattern), inner)
        else:
            # A pattern without words takes whatever is left over.
            route = "nothing/" if isinstance(pattern.pattern, RegexPattern) else str(pattern.pattern)
            yield Address(f"{space}{pattern.name or 'anything else'}", stem + route, pattern)
