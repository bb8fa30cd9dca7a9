"""A small invented laboratory, built by the actions, in which one technician may keep a result.

Everybody has a standing: Runa may test, Timo may not (yet), Edda plans, Magnus keeps equipment and people, Sefa
reviews, Signe signs; Clara and Otto are contacts of two different clients.
"""

import uuid
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from labrecords.actions import calibrations, clients, equipment, lab, methods, people, results, runs, samples, studies
from labrecords.models import Equipment, MethodVersion, Project, Run, Specimen, Study, User

NOW = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
PASSWORD = "seven quiet otters swim"

MODES = [
    {
        "key": "AP",
        "name": "adhesive peel",
        "description": "The seal lets go at the interface.",
        "peels": True,
    },
    {"key": "CO", "name": "cohesive peel", "description": "The sealant splits within itself.", "peels": True},
    {"key": "BR", "name": "break away from the seal", "description": "The web breaks.", "peels": False},
]
CAUSES = [
    {"key": "slip", "words": "slipped in the grip"},
    {"key": "cut", "words": "strip damaged in cutting"},
]
METHOD = {
    "reference": "ASTM F88/F88M-23",
    "techniques": ["A", "B", "C"],
    "rate_low_mm_min": Decimal("200"),
    "rate_high_mm_min": Decimal("300"),
    "rate_low_in_min": Decimal("8"),
    "rate_high_in_min": Decimal("12"),
    "usual_rate": "11 in/min",
    "widths_mm": [Decimal("15"), Decimal("25.4")],
    "conditioning_hours": 40,
    "room_low_c": 21,
    "room_high_c": 25,
    "humidity_low_percent": 45,
    "humidity_high_percent": 55,
    "modes": MODES,
    "void_causes": CAUSES,
    "replacement_cap": 1,
}
STUDY = {
    "title": "Side seals of the small pouch",
    "purpose": "Show that three lots peel alike.",
    "rationale": "Ten packs a lot, agreed with the client.",
    "coverage": Decimal("0.95"),
    "confidence": Decimal("0.95"),
    "bound_rule": "normal model",
    "decision_rule": "every value",
    "decision_chosen_by": "the client",
    "agreement": "nobody",
    "no_agreement_reason": "work of the laboratory's own",
}
SETUP = {
    "technique": "A",
    "rate": Decimal("11"),
    "rate_unit": "in/min",
    "width_mm": Decimal("25.4"),
    "width_measured": False,
    "grip_separation_mm": Decimal("25"),
    "seal_width_mm": Decimal("10"),
    "fixed_web": "film",
    "moving_web": "coated paper",
    "pulled_from": "outer",
    "machine_direction": "along",
    "sampling_hz": Decimal("50"),
    "filter": "none",
    "threshold_fraction": 0.2,
    "span_fraction": 0.8,
    "conditioning_hours": 40.0,
    "unit": "lbf/in",
    "decimals": 2,
    "expected_weak_n": 4.0,
    "expected_strong_n": 20.0,
}
GROUPS = [{"lot": "L1", "arm": "as made", "position": "side", "packs": 4, "specimens_per_pack": 1}]
LIMITS = [
    {
        "kind": "requirement",
        "side": "lower",
        "value": Decimal("1.00"),
        "unit": "lbf/in",
        "origin": "drawing",
        "origin_words": "drawing FD-114, note 3",
    }
]


@dataclass
class World:
    """What the tests reach for; `at` is the moment at which things are entered."""

    at: datetime
    people: dict[str, User]
    method: MethodVersion
    tester: Equipment
    cell: Equipment
    project: Project
    study: Study
    specimens: list[Specimen] = field(default_factory=list)
    run: Run | None = None

    def __getattr__(self, name):
        try:
            return self.__dict__["people"][name]
        except KeyError:
            raise AttributeError(name) from None


def build() -> World:
    """The laboratory with a locked study, cut specimens and an open run of Runa's."""
    world = laboratory()
    world.study = studies.lock(study=plan(world), by=world.edda, at=world.at)
    world.specimens = receive(world)
    world.run = open_run(world)
    return world


def laboratory() -> World:
    """People, a method, a tester with a cell, both in calibration; a draft study."""
    before = NOW - timedelta(days=30)
    magnus = people.add_first_manager(username="magnus", name="Magnus Orre", password=PASSWORD, at=before)
    lab.describe(
        name="Tern Peel Laboratory",
        address="1 Quay Lane, Aldersund",
        place_of_work="the same",
        time_zone="Europe/Dublin",
        paper="a4",
        by=magnus,
        at=before,
    )
    who = {"magnus": magnus} | _people(magnus, before)
    method = methods.issue_version(code="P-3", title="Peel of pouch seals", by=magnus, at=before, **METHOD)
    authorise(who["runa"], method, by=magnus, at=before)
    tester = add_equipment(who, Equipment.TESTER, "Bench tester 1", 500.0, before)
    cell = add_equipment(who, Equipment.CELL, "Cell 50 N", 50.0, before)
    project = clients.add_project(
        client=who["clara"].client, code="FJ-01", title="Small pouch", by=who["edda"], at=before
    )
    return World(NOW, who, method, tester, cell, project, study=None)


def _people(magnus: User, at: datetime) -> dict[str, User]:
    made = {}
    for username, name, roles in [
        ("edda", "Edda Lunde", {"engineer"}),
        ("sefa", "Sefa Brandt", {"engineer"}),
        ("runa", "Runa Vik", {"technician"}),
        ("timo", "Timo Aalto", {"technician"}),
        ("signe", "Signe Holm", {"signatory"}),
        ("tester_one", "Computer of bench tester 1", {"device"}),
    ]:
        made[username] = people.add_person(
            username=username, name=name, password=PASSWORD, roles=roles, by=magnus, at=at
        )
    for username, name, code, company in [
        ("clara", "Clara Fjell", "FJELL", "Fjell Instruments"),
        ("otto", "Otto Brand", "BRAND", "Brand Implants"),
    ]:
        client = clients.add_client(code=code, name=company, address="Sund", contact_name=name, by=magnus, at=at)
        made[username] = people.add_person(
            username=username, name=name, password=PASSWORD, roles={"client"}, client=client, by=magnus, at=at
        )
    return made


def authorise(person: User, method: MethodVersion, *, by: User, at: datetime, technique: str = "A", **dates):
    """Allow a person to record results with a technique, this year."""
    days = {"from_on": date(2026, 1, 1), "until_on": date(2026, 12, 31)} | dates
    return people.authorise(
        person=person,
        method_version=method,
        technique=technique,
        evidence="witnessed run",
        by=by,
        at=at,
        **days,
    )


def add_equipment(who, kind, name, capacity_n, at, *, due_on=date(2026, 12, 31), **fields) -> Equipment:
    """An item with a reviewed calibration."""
    item = equipment.register(
        kind=kind,
        name=name,
        serial=f"serial of {name}",
        location="bench 1",
        capacity_n=capacity_n,
        by=who["magnus"],
        at=at,
    )
    given = {"verified_low_n": 0.5, "verified_high_n": capacity_n, "noise_n": 0.002} if kind == Equipment.CELL else {}
    calibrate(who, item, at, due_on=due_on, **given | fields)
    return item


def add_standard(world, *, kind=Equipment.MASS, nominal_n=9.81, name="Check mass 1 kg") -> Equipment:
    """A check mass, or reference strips."""
    return equipment.register(
        kind=kind,
        name=name,
        serial="M-1",
        location="drawer 2",
        nominal_n=nominal_n,
        by=world.magnus,
        at=world.at - timedelta(days=20),
    )


def calibrate(who, item, at, *, performed_on=date(2026, 1, 10), due_on=date(2026, 12, 31), passed=True, **fields):
    """A calibration that a second person has reviewed."""
    made = calibrations.record(
        equipment=item,
        certificate=f"C-{item.label}-{performed_on}",
        provider="Nordlys Calibration",
        performed_on=performed_on,
        due_on=due_on,
        passed=passed,
        by=who["magnus"],
        at=at,
        **fields,
    )
    calibrations.review(calibration=made, words="Read and in order.", by=who["edda"], at=at)
    return made


def plan(world: World, **setup) -> Study:
    """A draft study; named fields of the set-up differ from the usual ones."""
    return studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at - timedelta(days=9),
        study=STUDY,
        setup=SETUP | {"method_version": world.method} | setup,
        groups=GROUPS,
        limits=LIMITS,
    )


def receive(world: World) -> list[Specimen]:
    """The lot received a week ago, conditioned since, and cut."""
    return receive_lot(world, world.study, "L1")


def receive_lot(world: World, study: Study, name: str) -> list[Specimen]:
    """A lot of any study, received a week ago, conditioned since, and cut."""
    then = world.at - timedelta(days=7)
    lot = samples.receive(
        study=study,
        name=name,
        description="pouches",
        condition="sound",
        sealed_how="bar sealer 2, 128 °C, 0.8 s, 3 bar",
        sampled_by="the client",
        sampled_on="11 May 2026",
        place="shelf 1",
        received_at=then,
        by=world.runa,
        at=then,
    )
    samples.condition(
        lot=lot,
        started_at=then,
        temperature_c=23,
        humidity_percent=50,
        place="room 2",
        by=world.runa,
        at=then,
    )
    return samples.cut(lot=lot, place="bench 1", by=world.runa, at=then)


def open_run(world: World, **changed) -> Run:
    """A run of Runa's, an hour ago."""
    fields = {
        "study": world.study,
        "tester": world.tester,
        "cell": world.cell,
        "person": world.runa,
        "room_c": 23.0,
        "room_humidity_percent": 50.0,
        "by": world.runa,
        "at": world.at - timedelta(hours=1),
    }
    return runs.open_run(**fields | changed)


def reading(world: World, **changed) -> results.Reading:
    """A typed result that is kept, unless something is changed."""
    fields = {
        "technique": "A",
        "rate": Decimal("11"),
        "rate_unit": "in/min",
        "width_mm": Decimal("25.4"),
        "tested_at": world.at,
        "modes": ("AP",),
        "typed": "1.52",
        "unit": "lbf/in",
    }
    return results.Reading(**fields | changed)


def enter(world: World, *, specimen=None, tested_by=None, entered_by=None, key=None, run=None, at=None, **changed):
    """Send one result through the gate."""
    return results.enter(
        specimen=(specimen or world.specimens[0]).label if not isinstance(specimen, str) else specimen,
        reading=reading(world, **changed),
        run=run or world.run,
        tested_by=tested_by or world.runa,
        entered_by=entered_by or world.runa,
        at=at or world.at,
        key=key or uuid.uuid4(),
    )
