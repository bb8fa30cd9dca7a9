"""How far the lots of a study are conditioned, for the bench."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, Max, OuterRef

from labrecords.models import Lot, Specimen, Study


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


def of_study(study: Study, at: datetime) -> list[Progress]:
    """Every lot with a strip that waits, where the set-up asks for conditioning; the first that are ready first."""
    wanted = timedelta(hours=study.setup.conditioning_hours)
    if not wanted:
        return []
    waiting = Specimen.objects.filter(pack__lot=OuterRef("pk"), results__isnull=True, void__isnull=True)
    lots = Lot.objects.filter(Exists(waiting), study=study).annotate(since=Max("conditionings__started_at"))
    found = [Progress(lot, lot.since, lot.since and lot.since + wanted, at) for lot in lots.order_by("label")]
    return sorted(found, key=lambda one: (one.ready_at is None, one.ready_at or at))
