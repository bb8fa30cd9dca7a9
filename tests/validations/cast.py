"""A validation study of the small laboratory: four people, one lot, each pack's four strips dealt out among them."""

from datetime import date, timedelta
from decimal import Decimal

from labrecords.actions import people, runs, studies, validations
from labrecords.models import PullPlace, Study, User
from tests import loaded
from tests import world as lab
from tests.windows.cast import group
from tests.world import World

NAMES = ("Ann", "Bo", "Cy", "Di")
# invented: what a strip of each pack gives, and what chance adds to a person's strips, in lbf/in
PACKS = ("1.46", "1.52", "1.55", "1.49", "1.58", "1.50")
CHANCE = {
    "Ann": ("0.01", "-0.02", "0.00", "0.02", "-0.01", "0.01"),
    "Bo": ("-0.01", "0.01", "0.02", "-0.02", "0.00", "-0.01"),
    "Cy": ("0.02", "0.00", "-0.01", "0.01", "-0.02", "0.01"),
    "Di": ("0.00", "0.02", "-0.02", "0.01", "0.01", "-0.01"),
}
CRITERIA = {"repeatability": Decimal("6"), "intermediate": Decimal("8"), "limit share": Decimal("60")}


def technicians(world: World, names=NAMES) -> dict[str, User]:
    """People with the role, who are not authorised for anything yet."""
    then = world.at - timedelta(days=20)
    return {
        name: people.add_person(
            username=name.lower(),
            name=name,
            password=lab.PASSWORD,
            roles={"technician"},
            by=world.magnus,
            at=then,
        )
        for name in names
    }


def part(who: dict[str, User], **changed) -> dict:
    """The validation's part of a plan."""
    given = {
        "design": "crossed",
        "margin": Decimal("0.08"),
        "reason": "A third of what separates our usual lots from the limit.",
        "group": list(who.values()),
        "joins": [],
        "criteria": CRITERIA,
    }
    return given | changed


def planned(world: World, who: dict[str, User], *, groups=None, limits=tuple(lab.LIMITS), setup=(), **changed) -> Study:
    """A locked validation study, its lot received and cut."""
    groups = groups or [group("L", len(PACKS), specimens_per_pack=len(who))]
    study = loaded.planned(world, groups, limits=limits, setup=dict(setup), validation=part(who, **changed))
    loaded.received(world, study, sorted({one["lot"] for one in groups}))
    return study


def drawn(world: World, study: Study, seed: str = "41"):
    """The order of a study."""
    return validations.draw_order(study=study, seed=seed, by=world.edda, at=world.at - timedelta(hours=2))


def value(place: PullPlace, reads: dict[str, str]) -> str:
    """What a strip gives to a person, who may read high or low by something."""
    pack = place.specimen.pack.number - 1
    name = place.person.name
    return str(Decimal(PACKS[pack]) + Decimal(CHANCE[name][pack]) + Decimal(reads.get(name, "0")))


def pulled(
    world: World, study: Study, reads: dict[str, str] | None = None, *, typed=None, cell=None, **changed
) -> None:
    """Everybody pulls their strips in the drawn order, in a run of their own; `typed` tells what a strip gives."""
    places = PullPlace.objects.filter(order__study=study).select_related("person", "specimen__pack")
    open_runs = {}
    for place in places.order_by("number", "person__name"):
        person = place.person
        if person not in open_runs:
            with_cell = {"cell": cell} if cell else {}
            open_runs[person] = lab.open_run(world, study=study, person=person, by=person, **with_cell)
        reading = {"typed": typed(place) if typed else value(place, reads or {})} | changed
        sent = {"run": open_runs[person], "tested_by": person, "entered_by": person, "confirmed": ("unusual-value",)}
        lab.enter(world, specimen=place.specimen, **sent, **reading)
    for person, run in open_runs.items():
        runs.close_run(run=run, by=person, at=world.at)


def made(world: World, reads: dict[str, str] | None = None, **changed) -> tuple[Study, dict[str, User]]:
    """A validation study, drawn, pulled and accepted in review."""
    who = technicians(world)
    study = planned(world, who, **changed)
    drawn(world, study)
    pulled(world, study, reads)
    return loaded.accepted(world, study), who


def decided(world: World, study: Study, who=(), *, passed: bool = True, **changed):
    """The manager's decision."""
    given = {"words": "Read with the plots.", "from_on": date(2026, 5, 21), "until_on": date(2027, 5, 20)}
    given |= {"by": world.magnus}
    return validations.decide(study=study, passed=passed, authorised=list(who), at=world.at, **given | changed)


def replanned(world: World, study: Study, **changed) -> Study:
    """A draft written anew."""
    return studies.replan(study=study, by=world.edda, at=world.at, **changed)
