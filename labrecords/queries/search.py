"""What has a code, or words in its title: one query a kind, whatever there is."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Value, Window
from django.db.models.functions import Replace

from labrecords.models import DerivedLimit, Equipment, Lot, Pack, Report, Run, Specimen, Study, User
from labrecords.rules import codes
from labrecords.rules.codes import Code, squeezed

from . import access

SHOWN = 20  # of each kind; the count says how many there are


@dataclass(frozen=True)
class Group:
    """The things of one kind that were found, the first of them, and how many there are in all."""

    kind: str
    rows: list[Any]
    count: int


def exact(person: User, code: Code) -> Any | None:
    """The one thing that has a code, for somebody of the laboratory; its newest version or issue."""
    access.demand(person, "see the laboratory")
    tables = {
        "study": Study.objects.filter(code=code.text),
        "report": Report.objects.filter(number=code.text).select_related("study").defer("content").order_by("-issue"),
        "limit": DerivedLimit.objects.filter(code=code.text).order_by("-version"),
        "run": Run.objects.filter(study__code=code.text, number=code.number).select_related("study"),
        "specimen": Specimen.objects.filter(label=code.text),
        "pack": Pack.objects.filter(label=code.text).select_related("lot"),
        "lot": Lot.objects.filter(label=code.text),
        "equipment": Equipment.objects.filter(label=code.text),
    }
    return tables[code.kind].first()


def find(person: User, text: str) -> list[Group]:
    """Everything whose code or title has the text in it, by kind; kinds of which there is none are left out."""
    access.demand(person, "see the laboratory")
    words = text.strip()
    if len(words) < codes.SHORTEST:
        return []
    groups = [_group(kind, rows) for kind, rows in _tables(words)]
    return [group for group in groups if group.count]


def _group(kind: str, rows: QuerySet) -> Group:
    found = list(rows.annotate(in_all=Window(Count("pk")))[:SHOWN])
    return Group(kind, found, found[0].in_all if found else 0)


def _tables(words: str) -> list[tuple[str, QuerySet]]:
    return [
        ("study", _having(Study.objects.select_related("project__client"), words, "code", *_OF_A_STUDY)),
        ("lot", _having(Lot.objects.select_related("study"), words, "label", "name", "description")),
        ("pack", _having(Pack.objects.select_related("lot__study"), words, "label")),
        ("specimen", _having(Specimen.objects.select_related("study", "group"), words, "label")),
        ("equipment", _having(Equipment.objects.all(), words, "label", "name", "serial")),
        ("run", _having(_runs(), words, "study__code", "study__title", "person__name")),
        ("report", _having(_reports(), words, "number", "title")),
        ("limit", _having(_limits(), words, "code", "study__title")),
        ("person", _having(User.objects.select_related("client"), words, "username", "name")),
    ]


_OF_A_STUDY = ("title", "project__code", "project__client__name")


def _runs() -> QuerySet[Run]:
    return Run.objects.select_related("study", "person").order_by("-study__code", "number")


def _reports() -> QuerySet[Report]:
    return Report.objects.select_related("study").defer("content")


def _limits() -> QuerySet[DerivedLimit]:
    return DerivedLimit.objects.select_related("study").defer("content")


def _having(rows: QuerySet, words: str, code: str, *titles: str) -> QuerySet:
    """Rows with the text in their code, hyphens or not, or with every word of it in one of their titles."""
    told = Q(**{f"{code}__icontains": words})
    if typed := squeezed(words):
        rows = rows.annotate(bare=Replace(F(code), Value("-"), Value("")))
        told |= Q(bare__icontains=typed)
    for title in titles:
        all_words = Q()
        for word in words.split():
            all_words &= Q(**{f"{title}__icontains": word})
        told |= all_words
    return rows.filter(told)
