"""Nonconforming work: what is open, what it holds, which reports it puts in question, and who has been told."""

from django.db.models import Exists, OuterRef, QuerySet

from labrecords.models import Client, Nonconformity, NonconformityStep, Refusal, Study, StudyHold

from .access import NotFound


def all_of_them() -> QuerySet[Nonconformity]:
    """Every piece of nonconforming work, newest first, and whether it is open."""
    closed = NonconformityStep.objects.filter(nonconformity=OuterRef("pk"), kind=NonconformityStep.RESUMED)
    return Nonconformity.objects.annotate(closed=Exists(closed)).select_related("by", "study", "calibration__equipment")


def still_open() -> QuerySet[Nonconformity]:
    """Nonconforming work in which work has not been resumed."""
    return all_of_them().filter(closed=False)


def one(code: str) -> Nonconformity:
    """One by its code, with everything that hangs on it."""
    found = (
        all_of_them()
        .select_related("refusal")
        .prefetch_related("steps__by", "steps__client", "holds__study", "reports__report__study__project__client")
        .filter(code=code)
        .first()
    )
    if found is None:
        raise NotFound(code)
    return found


def holding(study: Study) -> list[Nonconformity]:
    """The open nonconforming work that holds a study."""
    held = StudyHold.objects.filter(study=study).values("nonconformity")
    return list(still_open().filter(pk__in=held).order_by("code"))


def clients_in_question(found: Nonconformity) -> list[Client]:
    """Clients whose released reports are in question."""
    reports = found.reports.select_related("report__study__project__client")
    return sorted({row.report.study.project.client for row in reports}, key=lambda client: client.name)


def not_told(found: Nonconformity) -> list[Client]:
    """Those of them who have not been told."""
    told = set(found.steps.filter(kind=NonconformityStep.TOLD).values_list("client", flat=True))
    return [client for client in clients_in_question(found) if client.pk not in told]


def refusal(refusal_id) -> Refusal:
    """The refusal from which nonconforming work is opened."""
    found = Refusal.objects.select_related("study").filter(pk=refusal_id).first()
    if found is None:
        raise NotFound(str(refusal_id))
    return found
