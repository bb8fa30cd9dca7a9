"""A page for people about the programming interface, made from the OpenAPI document itself."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from drf_spectacular.generators import SchemaGenerator

from .schema import may_read_reference

FIELDS = ("Field", "Type", "Needed", "Meaning")


@dataclass(frozen=True)
class Operation:
    """One method of one address, as the page shows it."""

    anchor: str
    method: str
    path: str
    summary: str
    description: str
    tables: tuple[dict[str, Any], ...]


@dataclass(frozen=True)
class Shape:
    """A named shape of the document with its fields."""

    name: str
    description: str
    table: dict[str, Any]


def reference(request: HttpRequest) -> HttpResponse:
    """The reference, for people of the laboratory who are signed in."""
    if not may_read_reference(request.user):
        raise Http404
    document = SchemaGenerator().get_schema(request=None, public=True)
    context = {"operations": list(operations(document)), "shapes": list(shapes(document))}
    return render(request, "api/reference.html", context)


def operations(document: Mapping[str, Any]) -> Iterator[Operation]:
    """Every operation of the document, in its order."""
    for path, methods in document["paths"].items():
        for method, told in methods.items():
            yield Operation(
                anchor=told["operationId"],
                method=method.upper(),
                path=path,
                summary=told["summary"],
                description=told.get("description", ""),
                tables=tuple(_tables(told)),
            )


def _tables(told: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    if parameters := told.get("parameters"):
        rows = [[one["name"], one["in"], *_type_and_words(one["schema"], one)] for one in parameters]
        yield {
            "caption": f"Parameters: {told['summary']}",
            "columns": ["Name", "Where", "Type", "Meaning"],
            "rows": rows,
        }
    if body := told.get("requestBody"):
        rows = [[kind, _type(media["schema"])] for kind, media in body["content"].items()]
        yield {"caption": f"Body: {told['summary']}", "columns": ["Sent as", "Shape"], "rows": rows}
    rows = [[status, _answer(answer), answer["description"]] for status, answer in told["responses"].items()]
    yield {"caption": f"Answers: {told['summary']}", "columns": ["Status", "Shape", "Meaning"], "rows": rows}


def _answer(answer: Mapping[str, Any]) -> str:
    return ", ".join(_type(media["schema"]) for media in answer.get("content", {}).values())


def shapes(document: Mapping[str, Any]) -> Iterator[Shape]:
    """Every shape of the document, by name."""
    for name, told in document["components"]["schemas"].items():
        needed = told.get("required", ())
        rows = [
            [field, _type(schema), "yes" if field in needed else "no", schema.get("description", "")]
            for field, schema in told.get("properties", {}).items()
        ]
        table = {"caption": f"Fields of {name}", "columns": list(FIELDS), "rows": rows}
        if rows:
            yield Shape(name, told.get("description", ""), table)


def _type_and_words(schema: Mapping[str, Any], beside: Mapping[str, Any]) -> tuple[str, str]:
    return _type(schema), beside.get("description", "")


def _type(schema: Mapping[str, Any]) -> str:
    """A type in words: a named shape, a list of something, text with its format, one of some values."""
    if "$ref" in schema:
        return schema["$ref"].rpartition("/")[2]
    if parts := schema.get("allOf") or schema.get("oneOf"):
        said = " or ".join(_type(part) for part in parts)
    elif "enum" in schema:
        said = "one of " + ", ".join(str(value) for value in schema["enum"])
    elif schema.get("type") == "array":
        said = f"list of {_type(schema['items'])}"
    else:
        said = " ".join(str(schema[key]) for key in ("type", "format") if key in schema)
    return f"{said} or null" if schema.get("nullable") else said
