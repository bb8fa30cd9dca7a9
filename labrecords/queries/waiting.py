"""What waits for somebody: reviews with their age, refusals of the week, and the work that is open."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Max, Q

from labrecords.models import Deviation, Discrepancy, Event, Refusal, Result, Study, Void
from labrecords.rules.wording import WORDS

from . import nonconforming, studies, values

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class Waiting:
    """A study before a reviewer or a signatory: since when, what makes it risky, and who may not take it."""

    study: Study
    since: datetime
    days: int
    risks: tuple[str, ...]
    not_by: tuple[str, ...]


def reviews(moment: datetime) -> list[Waiting]:
    """Studies that wait for a review or a signature, the oldest first; a constant number of queries."""
    found = list(studies.waiting_for_review())
    since = dict(
        Event.objects.filter(study__in=[study.pk for study in found], act__in=["study.finished", "study.reviewed"])
        .order_by()
        .values_list("study")
        .annotate(latest=Max("at"))
    )
    risks, testers = _risks(found), _testers(found)
    rows = [
        Waiting(study, at, (moment - at).days, tuple(risks[study.pk]), tuple(sorted(testers[study.pk])))
        for study in found
        if (at := since.get(study.pk)) is not None
    ]
    return sorted(rows, key=lambda row: row.since)


def _risks(found: list[Study]) -> dict[Any, list[str]]:
    """By study, what a reviewer looks at first: what is undecided, marked or void."""
    marked = Result.objects.filter(specimen__study__in=found).exclude(marks=[])
    counted = (
        ("undecided", values.undecided().filter(result__specimen__study__in=found), "result__specimen__study"),
        ("marked", marked, "specimen__study"),
        ("void", Void.objects.filter(specimen__study__in=found), "specimen__study"),
    )
    risks: dict[Any, list[str]] = defaultdict(list)
    for words, rows, path in counted:
        for study, count in rows.order_by().values_list(path).annotate(count=Count("pk")):
            risks[study].append(f"{count} {words}")
    return risks


def _testers(found: list[Study]) -> dict[Any, set[str]]:
    rows = Result.objects.filter(specimen__study__in=found).order_by()
    testers: dict[Any, set[str]] = defaultdict(set)
    for study, tested, entered in rows.values_list("specimen__study", "tested_by__name", "entered_by__name").distinct():
        testers[study] |= {tested, entered}
    return testers


def deviations() -> list[Deviation]:
    """Deviations nobody has decided, oldest first."""
    return list(values.undecided().select_related("result__specimen__study").order_by("at", "pk"))


def discrepancies() -> list[Discrepancy]:
    """Discrepancies the client has not answered, oldest first."""
    return list(Discrepancy.objects.filter(answer__isnull=True).select_related("lot__study").order_by("at", "pk"))


def open_nonconformities() -> list:
    """Nonconforming work in which work has not been resumed."""
    return list(nonconforming.still_open())


def refusals_of_the_week(moment: datetime) -> list[tuple[str, str, int]]:
    """Code, headline and count of the refusals of the last seven days, the most frequent first."""
    codes = Refusal.objects.filter(at__gte=moment - WEEK).values_list("codes", flat=True)
    counts = Counter(code for found in codes for code in found)
    return [(code, WORDS[code].headline, count) for code, count in counts.most_common()]


def workload() -> list[tuple[Study, int]]:
    """Studies that may be tested, with how many strips are left, the most first."""
    return sorted(((study, study.left) for study in studies.with_strips_left()), key=lambda pair: -pair[1])


def results_by_person(moment: datetime) -> list[tuple[str, int]]:
    """Who pulled how many strips in the last seven days, the most first."""
    since = moment - WEEK
    counted = Count("pk", filter=Q(tested_at__gte=since))
    rows = Result.objects.filter(tested_at__gte=since).values("tested_by__name").annotate(count=counted)
    return sorted(((row["tested_by__name"], row["count"]) for row in rows), key=lambda pair: (-pair[1], pair[0]))
