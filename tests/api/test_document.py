"""The OpenAPI document: generated without a warning, current in the repository, and true."""

import pathlib

import pytest
import yaml
from django.core.management import call_command
from django.test import Client
from django.urls import get_resolver

from labrecords import api
from tests import world as cast
from tests.api.conftest import entry
from tests.look.test_policy import breaches

KEPT = pathlib.Path(api.__file__).parent / "openapi.yaml"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The document as the code makes it now; a warning or a breach of OpenAPI's own schema is an error."""
    file = tmp_path_factory.mktemp("document") / "openapi.yaml"
    call_command("spectacular", file=str(file), validate=True, fail_on_warn=True)
    return file.read_text()


def test_the_document_in_the_repository_is_current(made):
    again = "manage.py spectacular --file labrecords/api/openapi.yaml"
    assert KEPT.read_text() == made, f"The interface has changed. Make the document again: {again}"


def test_every_address_is_in_the_document(made):
    patterns = next(found for found in get_resolver().url_patterns if str(found.pattern) == "api/")
    names = {found.name for found in patterns.url_patterns if found.name}
    assert len(yaml.safe_load(made)["paths"]) == len(names - {"reference", "schema"})


def test_every_operation_says_how_it_fails(made):
    for methods in yaml.safe_load(made)["paths"].values():
        for told in methods.values():
            assert {"401", "403", "404"} < set(told["responses"])
            errors = [told["responses"][status] for status in told["responses"] if status >= "400"]
            shapes = {answer["content"]["application/json"]["schema"]["$ref"] for answer in errors}
            assert shapes == {"#/components/schemas/Problem"}


ANSWERS = {
    "": "Study",
    "specimens/": "Specimens",
    "runs/": "Runs",
    "results/": "ResultPage",
    "summary/": "StudyNumbers",
    "refusals/": "Refusals",
    "photographs/": "Photographs",
}


@pytest.fixture
def checked(made):
    """Checks a body against a named shape of the document."""
    import jsonschema

    components = yaml.safe_load(made)["components"]

    def check(body, name):
        shape = {"$ref": f"#/components/schemas/{name}", "components": _nullable(components)}
        jsonschema.Draft202012Validator(shape).validate(body)

    return check


def _nullable(node):
    """OpenAPI 3.0 writes `nullable: true` where JSON Schema writes a second type; unknown fields are errors here."""
    if isinstance(node, list):
        return [_nullable(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    plain = {name: _nullable(inner) for name, inner in node.items() if name != "nullable"}
    if plain.get("type") == "object" and isinstance(plain.get("properties"), dict):
        plain["additionalProperties"] = False
    return {"anyOf": [plain, {"type": "null"}]} if node.get("nullable") is True else plain


@pytest.mark.parametrize("part", ANSWERS)
def test_answers_are_what_the_document_says(world, call, checked, part):
    cast.enter(world)
    cast.enter(world, specimen=world.specimens[1], typed="1.61")
    cast.enter(world, specimen=world.specimens[2], run=cast.open_run(world, room_c=30.0))
    caller = call("edda")
    caller.post(entry(world))
    checked(caller.get(f"studies/{world.study.code}/{part}").json(), ANSWERS[part])


def test_an_entrys_answers_are_what_the_document_says(world, call, checked):
    caller, body = call(), entry(world)
    checked(body, "EntryRequest")
    checked(caller.post(body).json(), "Kept")
    checked(caller.post(body | {"remark": "else"}).json(), "Problem")


def test_the_check_against_the_document_can_fail(checked):
    from jsonschema import ValidationError

    with pytest.raises(ValidationError):
        checked({"specimens": [{"label": "SP-000001-X"}]}, "Specimens")


@pytest.mark.parametrize(("query", "start"), [("", "openapi: 3.0.3"), ("?format=json", '{"openapi":')])
def test_the_document_is_served(world, call, query, start):
    answer = call().client.get(f"/api/schema/{query}")
    assert answer.status_code == 200
    assert answer.content.decode().replace("\n", "").replace(" ", "").startswith(start.replace(" ", ""))


def test_the_document_is_served_to_staff_who_are_signed_in(world):
    client = Client()
    client.force_login(world.signe)
    assert client.get("/api/schema/").status_code == 200
    client.force_login(world.clara)
    assert client.get("/api/schema/").status_code == 403


def test_the_reference_page_tells_every_operation_and_shape(world, made):
    client = Client()
    client.force_login(world.runa)
    page = client.get("/api/").content.decode()
    document = yaml.safe_load(made)
    for path, methods in document["paths"].items():
        assert f"{next(iter(methods)).upper()} {path}" in page
    assert all(
        f">{name}</h3>" in page for name, told in document["components"]["schemas"].items() if "enum" not in told
    )
    assert breaches(page) == []


def test_the_reference_page_is_for_staff(world):
    client = Client()
    assert client.get("/api/").status_code == 302
    client.force_login(world.clara)
    assert client.get("/api/").status_code == 404
