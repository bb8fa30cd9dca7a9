"""Words that only Otto's company may read, looked for in everything that Clara can fetch.

Every text that Otto's records hold has a word in it that occurs nowhere else; a new field of text fails the first
test until the two companies give it one, or it is listed as a text that is nobody's own.
"""

import json
from collections import defaultdict

from django.apps import apps
from django.test import Client as Browser

from labrecords.models import Client, Lot
from tests.pages.test_matrix import ADDRESSES, METHODS, Caller, filled, signed_in, with_token
from tests.portal.reading import squeezed
from tests.portal.test_bytes import NOT_IN_A_REPORT, crawl, readable

TEXTS = ("CharField", "TextField", "JSONField", "ArrayField", "EmailField")
# Numbers that the system gives, hashes, units, and words chosen from a list: nobody's own.
NOT_FREE = {
    *("Client.code", "DerivedLimit.code", "Nonconformity.code", "Report.number", "Study.code", "User.username"),
    *("Lot.label", "Pack.label", "Specimen.label", "SealingSetting.label", "SealingSetting.lot"),
    *("Entry.body_sha256", "Report.content_sha256", "ReportFile.sha256", "Review.content_sha256", "TraceFile.sha256"),
    *("Photo.sha256", "Photo.media_type", "Archive.sha256"),
    *("Protocol.content_sha256", "ReportLink.digest"),
    *("Refusal.act", "Refusal.codes"),
    *("Correction.unit", "DerivedLimit.unit", "Limit.unit", "Result.recorded_unit", "Setup.unit"),
    *("Result.rate_unit", "Run.rate_unit", "Correction.typed", "User.password"),
    *("Correction.modes", "CustodyEvent.act", "Deviation.code", "Deviation.facts", "Result.modes", "Void.cause"),
    *("Study.bound_rule", "Study.decision_rule", "Study.mark", "Study.state"),
    *("ReportFile.media_type", "ReportFile.name", "ReportFile.title"),
    *("DerivedLimit.bound_of", "DerivedLimit.content", "DerivedLimit.lacking"),
}


def belonging(company: Client) -> dict[type, set]:
    """All rows that hang on a company, table by table: whatever points to it, to what points to it, and so on."""
    models = list(apps.get_app_config("labrecords").get_models())
    found, waiting = defaultdict(set), {Client: {company.pk}}
    while waiting:
        fresh, waiting = waiting, defaultdict(set)
        for model, keys in fresh.items():
            found[model] |= keys
        for model in models:
            for field in model._meta.concrete_fields:
                if field.is_relation and field.related_model in fresh:
                    rows = model.objects.filter(**{f"{field.name}__in": fresh[field.related_model]})
                    waiting[model] |= set(rows.values_list("pk", flat=True)) - found[model]
        waiting = {model: keys for model, keys in waiting.items() if keys}
    return found


def texts(company: Client):
    """Each text of the company's rows, with where it stands."""
    for model, keys in belonging(company).items():
        fields = [field for field in model._meta.concrete_fields if field.get_internal_type() in TEXTS]
        for row in model.objects.filter(pk__in=keys):
            for field in fields:
                value = getattr(row, field.attname)
                if value and not field.choices:
                    yield f"{model.__name__}.{field.name}", json.dumps(value, default=str)


def test_every_text_of_the_other_company_has_a_word_of_its_own(two):
    held = list(texts(two.cast.world.otto.client))
    marked = {where for where, text in held if any(word in text for word in two.secrets)}
    assert {where for where, _ in held} - marked == NOT_FREE
    assert len(marked) > 40


def answers(two, caller, methods=METHODS):
    """What the caller is told of every address: with both companies' things, and with what is not there."""
    for name, address in ADDRESSES.items():
        for method in methods:
            if (name, method) != ("sign-out", "post"):
                for things in (two.clara, two.otto, None) if address.parts else (None,):
                    where = filled(address, things)
                    yield f"{method} {where}", getattr(caller.client, method)(where)


def asked_with_words(two, browser):
    """Addresses that take something after a question mark, asked for the other company's things."""
    report, study = two.cast.otto, two.cast.otto.study
    for where, given in {
        "/check/": {"report": report.number, "code": report.content_sha256[:16]},
        "/studies/compare/": {"one": f"{study.code}/1", "other": f"{study.code}/1"},
        "/api/comparison/": {"one": f"{study.code}/1", "other": f"{study.code}/1"},
        "/trail/": {"study": study.code},
        "/reports/": {"q": study.code, "client": study.project.client_id, "study": study.code},
        "/sign-in/": {"next": f"/reports/{report.number}/"},
    }.items():
        yield f"{where} with words", browser.get(where, given)


def all_that_can_be_read(two, callers, folder) -> str:
    """Everything that these callers can fetch, whatever it is packed in, without white space."""
    found = {}
    for caller in callers:
        found |= dict(answers(two, caller)) | dict(asked_with_words(two, caller.client))
        found |= crawl(caller.client) if caller.person and not caller.by_token else {}
    return squeezed("".join(readable(found, folder)))


def test_nothing_of_another_company_is_in_anything_a_client_can_fetch(two, tmp_path):
    world = two.cast.world
    clara = world.clara
    hers = all_that_can_be_read(two, (signed_in(clara), with_token(world, clara), Caller(Browser())), tmp_path)
    assert "FjellInstruments" in hers
    assert [word for word in two.secrets if word in hers] == []


def test_control_every_word_is_read_by_its_own_company_or_by_the_laboratory(two, tmp_path):
    world = two.cast.world
    his = squeezed("".join(readable(crawl(signed_in(world.otto).client), tmp_path)))
    unseen = {word for word in two.cast.secrets if word not in his}
    assert unseen == NOT_IN_A_REPORT
    staff = (_by_the_laboratory(two, signed_in(person)) for person in (world.magnus, world.edda))
    seen = squeezed("".join(text for found in staff for text in readable(found, tmp_path)))
    assert [word for word in two.secrets if word not in seen and word not in his] == []


def _by_the_laboratory(two, reader):
    """What somebody of the laboratory reads of every study and lot of the other company."""
    company = two.cast.world.otto.client
    found = dict(answers(two, reader, ("get",)))
    for lot in Lot.objects.filter(study__project__client=company).select_related("study"):
        for name in ("study", "window", "lot", "changes"):
            where = filled(ADDRESSES[name], {"studies code": lot.study.code, "lots label": lot.label})
            found[where] = reader.client.get(where)
    return found
