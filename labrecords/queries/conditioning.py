"""How far the lots of a study are conditioned, for the bench."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, Max, OuterRef

from labrecords.models import Lot, Setup, Specimen, Study


@dataclass(frozen=True)
class Progress:
    """A lot with strips that wait: since when it has been in the conditioned room, and from when on it is ready."""

    lot: Lot
    since: datetime | None
    ready_at: datetime | None
    at: datetime

    @property
    def is_ready(self) -> bool:
        """Whether the set-up's hours are over."""
        return self.ready_at is not None and self.ready_at <= self.at

    @property
    def hours(self) -> float:
        """Hours in the conditioned room until now."""
        return (self.at - self.since).total_seconds() / 3600 if self.since else 0.0


def ready_at(lot: Lot) -> datetime | None:
    """When the lot will have been conditioned as the set-up says; None before conditioning has begun."""
    return _ready(lot.study.setup, lot.conditionings.aggregate(since=Max("started_at"))["since"])


def _ready(setup: Setup, since: datetime | None) -> datetime | None:
    return since and since + timedelta(hours=setup.conditioning_hours)


def of_study(study: Study, at: datetime) -> list[Progress]:
    """Every lot with a strip that waits, where the set-up asks for conditioning; the first that are ready first."""
    setup = study.setup
    if not setup.conditioning_hours:
        return []
    waiting = Specimen.objects.filter(pack__lot=OuterRef("pk"), results__isnull=True, void__isnull=True)
    lots = Lot.objects.filter(Exists(waiting), study=study).annotate(since=Max("conditionings__started_at"))
    found = [Progress(lot, lot.since, _ready(setup, lot.since), at) for lot in lots.order_by("label")]
    return sorted(found, key=lambda one: (one.ready_at is None, one.ready_at or at))
