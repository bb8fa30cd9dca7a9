"""What stands on the bench page: the specimen in hand, those around it, and what has become of each."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count, Exists, Min, OuterRef, Q

from labrecords.models import Entry, PlanGroup, PullPlace, Result, Run, Specimen, Study, User

from . import validation_plans

EQUIPMENT = ("tester", "cell", "room_sensor", "width_gauge")
SEEN = ("study", "group", "pack__lot", "void")


@dataclass(frozen=True)
class Place:
    """A specimen on the strip: its number, from 1, and its state: kept, void or waiting."""

    number: int
    specimen: Specimen
    state: str


def find(label: str) -> Specimen | None:
    """A specimen of whatever study, by its label."""
    return Specimen.objects.select_related(*SEEN).filter(label=label).first()


def standing(specimen: Specimen) -> Result | None:
    """The latest revision of a specimen's result."""
    found = specimen.results.filter(superseded_by__isnull=True).select_related("tested_by", "entered_by")
    return found.prefetch_related("deviations__decision").first()


def run_of(study: Study, text: str) -> Run | None:
    """The run of a study whose key was sent, with its equipment; None for anything else."""
    try:
        key = UUID(text)
    except ValueError:
        return None
    return Run.objects.select_related("person", *EQUIPMENT).filter(study=study, pk=key).first()


def own_run_beside(run: Run, person: User) -> Run | None:
    """The open run of a person in the same study on the same equipment, if there is one."""
    same = Run.objects.filter(study=run.study_id, tester=run.tester_id, cell=run.cell_id, person=person)
    return same.filter(closed_at__isnull=True).order_by("-number").first()


def came_before(key: UUID) -> bool:
    """Whether an entry with this key has had its answer."""
    return Entry.objects.filter(key=key).exists()


def results_of(specimens: list[Specimen]) -> dict:
    """The latest revision of the results of these specimens, by specimen."""
    found = Result.objects.filter(specimen__in=specimens, superseded_by__isnull=True)
    return {result.specimen_id: result for result in found.prefetch_related("deviations__decision")}


def places(run: Run, specimen: Specimen | None) -> list[Place]:
    """The specimens among which one is pulled: the person's own in the drawn order, otherwise its group's by label."""
    drawn = _drawn(run)
    if drawn is not None:
        return drawn
    found = specimen or _specimens(run).first()
    if found is None:
        return []
    group = _specimens(run).filter(group=found.group)
    return [Place(number, item, _state(item)) for number, item in enumerate(group, start=1)]


def groups(run: Run) -> list[PlanGroup]:
    """The groups of the plan with specimens that wait: how many, and the first. None where an order was drawn."""
    if validation_plans.order(run.study) is not None:
        return []
    waits = Q(specimens__results__isnull=True, specimens__void__isnull=True, specimens__isnull=False)
    found = run.study.groups.annotate(
        waiting=Count("specimens", filter=waits), first=Min("specimens__label", filter=waits)
    )
    return list(found.filter(waiting__gt=0).order_by("number"))


def group(run: Run, number: int) -> PlanGroup | None:
    """One group of the plan."""
    return run.study.groups.filter(number=number).first()


def of_group(run: Run, wanted: PlanGroup | None) -> list[Place]:
    """The specimens of one group of the plan by label, or of all."""
    found = _specimens(run).filter(group=wanted) if wanted else _specimens(run)
    return [Place(number, item, _state(item)) for number, item in enumerate(found, start=1)]


def _specimens(run: Run):
    tested = Exists(Result.objects.filter(specimen=OuterRef("pk")))
    return Specimen.objects.filter(study=run.study).select_related(*SEEN).annotate(tested=tested).order_by("label")


def _drawn(run: Run) -> list[Place] | None:
    if validation_plans.order(run.study) is None:
        return None
    tested = Exists(Result.objects.filter(specimen=OuterRef("specimen")))
    found = PullPlace.objects.filter(order__study=run.study, person=run.person).annotate(tested=tested)
    found = found.select_related(*(f"specimen__{name}" for name in SEEN))
    return [Place(place.number, place.specimen, _state(place.specimen, tested=place.tested)) for place in found]


def _state(specimen: Specimen, *, tested: bool | None = None) -> str:
    if hasattr(specimen, "void"):
        return "void"
    return "kept" if (specimen.tested if tested is None else tested) else "waiting"
