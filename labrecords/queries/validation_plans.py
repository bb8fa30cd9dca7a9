"""What a validation study plans: who pulls, what must be met, and the drawn order."""

from datetime import datetime

from django.utils import timezone

from labrecords.models import PullOrder, PullPlace, Run, Specimen, Study, User, ValidationPerson, ValidationPlan
from labrecords.rules import facts
from labrecords.rules.authorisation import holds
from labrecords.rules.study_states import DRAFT, LOCKED, TESTING
from labrecords.rules.validation_plan import Participant

from . import lab, setups
from . import people as people_queries
from .access import NotFound


def of_study(study: Study) -> ValidationPlan | None:
    """The plan of a validation study; None for any other."""
    return ValidationPlan.objects.filter(study=study).first()


def need(study: Study) -> ValidationPlan:
    """The plan of a validation study; NotFound for any other."""
    found = of_study(study)
    if found is None:
        raise NotFound(f"validation of {study.code}")
    return found


def people(plan: ValidationPlan) -> list[ValidationPerson]:
    """Who pulls: the group first, then whoever joins it."""
    return list(plan.people.select_related("person"))


def technicians() -> list[User]:
    """People who may open a run, by name."""
    from .access import may

    everybody = User.objects.filter(is_active=True, client__isnull=True).order_by("name").prefetch_related("groups")
    return [person for person in everybody if may(person, "open a run")]


def participants(plan: ValidationPlan, moment: datetime | None = None) -> list[Participant]:
    """Who pulls, as the rules see them: whether each holds an authorisation for the study's technique today."""
    moment = moment or timezone.now()
    setup, on = plan.study.setup, lab.day(moment)
    found = []
    for row in people(plan):
        held = people_queries.authorisations_of(row.person, setup.method_version, before=moment)
        months = setup.method_version.disuse_months
        good = any(item.technique == setup.technique and holds(item, on=on, disuse_months=months) for item in held)
        found.append(Participant(row.person.name, row.joins, good))
    return found


def facts_of(study: Study, person: User, specimen: Specimen | None = None) -> facts.Validation | None:
    """What the gate is told of a validation study; None for any other."""
    plan = of_study(study)
    if plan is None:
        return None
    takes_part = ValidationPerson.objects.filter(plan=plan, person=person).exists()
    drawn = PullOrder.objects.filter(study=study).exists()
    place = PullPlace.objects.filter(specimen=specimen).select_related("person").first() if specimen else None
    if place is None:
        return facts.Validation(takes_part, drawn)
    ahead = waiting(study, place.person).filter(number__lt=place.number).count()
    return facts.Validation(takes_part, drawn, place.person.name, ahead)


def waiting(study: Study, person: User | None = None):
    """Places whose strips are still to be pulled, in their order; of one person or of all."""
    found = PullPlace.objects.filter(
        order__study=study, specimen__results__isnull=True, specimen__void__isnull=True
    ).select_related("specimen__group", "specimen__pack", "person")
    return found.filter(person=person) if person else found


def order(study: Study) -> PullOrder | None:
    """The drawn order of a study."""
    return PullOrder.objects.select_related("by").filter(study=study).first()


def place(study: Study, person: User, number: int) -> PullPlace:
    """One place of the drawn order; the latest strip of it, where one was replaced."""
    return PullPlace.objects.filter(order__study=study, person=person, number=number).latest("at")


def next_for(run: Run) -> list[Specimen] | None:
    """The strips of a run's person that wait, in the drawn order; None where none was drawn."""
    if not PullOrder.objects.filter(study=run.study).exists():
        return None
    return [place.specimen for place in waiting(run.study, run.person)]


def by_person(drawn: PullOrder) -> list[tuple[User, list[PullPlace]]]:
    """The drawn order, person by person, with what has been pulled."""
    places = drawn.places.select_related("person", "specimen__group", "specimen__pack", "specimen__void")
    found: dict[User, list[PullPlace]] = {}
    for place in places.prefetch_related("specimen__results").order_by("person__name", "number", "specimen__label"):
        found.setdefault(place.person, []).append(place)
    return list(found.items())


def blind(study: Study) -> bool:
    """Whether people of a validation study may not be compared yet, so that nobody pulls towards a number."""
    return study.state in (DRAFT, LOCKED, TESTING) and of_study(study) is not None


def to_draw(study: Study) -> bool:
    """Whether a locked validation study still lacks its order."""
    return study.state == LOCKED and of_study(study) is not None and order(study) is None


def as_initial(study: Study) -> dict:
    """A validation's part of a plan as its form shows it; empty for any other study."""
    plan = of_study(study)
    if plan is None:
        return {}
    rows = people(plan)
    criteria = {row.kind.replace(" ", "_"): setups.plain(row.percent) for row in plan.criteria.all()}
    return {
        "design": plan.design,
        "margin": setups.plain(plan.margin),
        "reason": plan.reason,
        "group": [row.person.username for row in rows if not row.joins],
        "joins": [row.person.username for row in rows if row.joins],
        **criteria,
    }
