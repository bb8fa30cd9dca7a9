"""The demo's laboratory: people, clients, a method, equipment with its calibrations, and who may do what."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from functools import partial
from typing import Any

from labrecords.actions import (
    badges,
    budgets,
    calibrations,
    checks,
    clients,
    equipment,
    lab,
    methods,
    nonconforming,
    people,
)
from labrecords.rules.budget import Line

from .acts import Act
from .days import Days
from .passwords import one_time_password, one_time_pin


@dataclass
class House:
    """Everybody and everything of the laboratory by the keys of the fixtures."""

    inputs: dict[str, Any]
    days: Days
    people: dict[str, Any] = field(default_factory=dict)
    passwords: dict[str, str] = field(default_factory=dict)
    pins: dict[str, str] = field(default_factory=dict)  # of badges, by their code
    projects: dict[str, Any] = field(default_factory=dict)
    equipment: dict[str, Any] = field(default_factory=dict)
    method: Any = None
    laboratory: Any = None
    calibrations: dict[str, Any] = field(default_factory=dict)
    layouts: dict[str, dict] = field(default_factory=dict)
    token: str = ""

    @property
    def manager(self):
        """The first person, who adds all others."""
        return self.people[self.inputs["people"][0]["user"]]

    def written(self, key: str) -> dict[str, str]:
        """How a tester writes its files."""
        return next(row["files"] for row in self.inputs["equipment"] if row["key"] == key)


def found(house: House) -> None:
    """The first manager and the laboratory's own entry. What follows is a demo once this is done."""
    first, described = house.inputs["people"][0], dict(house.inputs["laboratory"])
    at = house.days.moment(described.pop("at"))
    password = house.passwords[first["user"]] = one_time_password()
    house.people[first["user"]] = people.add_first_manager(
        username=first["user"], name=first["name"], password=password, at=at
    )
    house.laboratory = lab.describe(by=house.manager, at=at, **described)


def furnish(house: House) -> None:
    """Clients, people and equipment, on the first morning."""
    at = house.days.moment(house.inputs["laboratory"]["at"]) + timedelta(minutes=30)
    known = {row["code"]: _client(house, row, at) for row in house.inputs["clients"]}
    for row in house.inputs["people"][1:]:
        at += timedelta(minutes=3)
        _person(house, row, known, at)
    _device(house, at + timedelta(minutes=5))
    for row in house.inputs["equipment"]:
        at += timedelta(minutes=10)
        fields = {name: value for name, value in row.items() if name not in ("key", "files")}
        house.equipment[row["key"]] = equipment.register(by=house.manager, at=at, **fields)


def _client(house: House, row: dict[str, Any], at: datetime):
    fields = {name: value for name, value in row.items() if name != "project"}
    client = clients.add_client(by=house.manager, at=at, **fields)
    house.projects[client.code] = clients.add_project(client=client, by=house.manager, at=at, **row["project"])
    return client


def _person(house: House, row: dict[str, Any], known: dict[str, Any], at: datetime) -> None:
    password = house.passwords[row["user"]] = one_time_password()
    house.people[row["user"]] = people.add_person(
        username=row["user"],
        name=row["name"],
        password=password,
        roles=row["roles"],
        client=known.get(row.get("client")),
        by=house.manager,
        at=at,
    )
    if "technician" in row["roles"]:
        _badge(house, house.people[row["user"]], password, at + timedelta(minutes=1))


def _badge(house: House, person, password: str, at: datetime) -> None:
    pin = one_time_pin()
    house.pins[badges.make(pin=pin, password=password, by=person, at=at).label] = pin


def _device(house: House, at: datetime) -> None:
    row = house.inputs["device"]
    device = people.add_person(
        username=row["user"], name=row["name"], password=None, roles=["device"], by=house.manager, at=at
    )
    house.people[row["user"]] = device
    house.token = people.give_token(person=device, label=row["label"], by=house.manager, at=at)


def acts(house: House) -> Iterator[Act]:
    """What happens to the laboratory itself over the months: method, authorisations, calibrations."""
    yield Act(house.days.moment(house.inputs["method"]["at"]), partial(_issue, house))
    for row in house.inputs["authorisations"]:
        yield Act(house.days.moment(row["at"]), partial(_authorise, house, row))
    for row in house.inputs["calibrations"]:
        performed = house.days.date(row["performed"])
        yield Act(house.days.working_days_after(performed, 2, "10:00"), partial(_calibrate, house, row))
        yield Act(house.days.working_days_after(performed, 2, "12:00"), partial(_review, house, row))
    for row in house.inputs["checks"]:
        yield from _checks(house, row)
    for row in house.inputs["budgets"]:
        yield Act(house.days.moment(row["at"]), partial(_keep_budget, house, row))
        yield Act(house.days.moment(row["approved"]), partial(_approve_budget, house, row))
    for row in house.inputs["nonconforming"]:
        yield Act(house.days.moment(row["at"]), partial(_look_back, house, row))
        for step in row["steps"]:
            yield Act(house.days.moment(step["at"]), partial(_step, house, row, step))


def _checks(house: House, row: dict[str, Any]) -> Iterator[Act]:
    """A mass hung on the grip each working day, and limits once there are readings enough."""
    pair = {name: house.equipment[row[name]] for name in ("tester", "cell", "standard")}
    for step, value in enumerate(row["values_n"]):
        at = house.days.moment(f"-{row['first'] - step} {row['time']}")
        yield Act(at, partial(_check, house, row, pair, float(value)))
        if step + 1 == row["baseline_after"]:
            yield Act(at + timedelta(hours=1), partial(_baseline, house, row, pair))


def _check(house: House, row: dict[str, Any], pair: dict[str, Any], value_n: float, at: datetime) -> None:
    checks.take(value_n=value_n, taken_at=at, by=house.people[row["by"]], at=at, **pair)


def _baseline(house: House, row: dict[str, Any], pair: dict[str, Any], at: datetime) -> None:
    checks.set_baseline(name=row["baseline"], by=house.manager, at=at, **pair)


def _look_back(house: House, row: dict[str, Any], at: datetime) -> str:
    made = row["made"] = nonconforming.from_look_back(
        calibration=house.calibrations[row["certificate"]], words=row["words"], by=house.people[row["by"]], at=at
    )
    return f"{made.code}: {made.title}."


def _step(house: House, row: dict[str, Any], step: dict[str, Any], at: datetime) -> None:
    nonconforming.add_step(
        nonconformity=row["made"], kind=step["kind"], words=step["words"], by=house.people[step["by"]], at=at
    )


def _keep_budget(house: House, row: dict[str, Any], at: datetime) -> str:
    told = {name: row[name] for name in ("technique", "level", "unit", "coverage", "rationale")}
    lines = [Line(**line | {"df": _decimal(line.get("df"))}) for line in row["lines"]]
    made = row["made"] = budgets.keep(
        method_version=house.method, lines=lines, by=house.people[row["by"]], at=at, **told
    )
    return f"Uncertainty budget {made.code} worked out."


def _decimal(value: int | None) -> Decimal | None:
    return None if value is None else Decimal(value)


def _approve_budget(house: House, row: dict[str, Any], at: datetime) -> None:
    by = house.people[row["approved_by"]]
    budgets.decide(budget=row["made"], approved=True, words=row["words"], by=by, at=at)


def _issue(house: House, at: datetime) -> str:
    fields = {name: value for name, value in house.inputs["method"].items() if name != "at"}
    house.method = methods.issue_version(by=house.manager, at=at, **fields)
    return f"Method {house.method} issued."


def _authorise(house: House, row: dict[str, Any], at: datetime) -> None:
    for technique in row["techniques"]:
        people.authorise(
            person=house.people[row["person"]],
            method_version=house.method,
            technique=technique,
            from_on=house.days.date(row["from"]),
            until_on=house.days.date(row["until"]),
            evidence=row["evidence"],
            by=house.manager,
            at=at,
        )


def _calibrate(house: House, row: dict[str, Any], at: datetime) -> None:
    fields = {name: value for name, value in row.items() if name not in ("equipment", "performed", "due")}
    house.calibrations[row["certificate"]] = calibrations.record(
        equipment=house.equipment[row["equipment"]],
        provider=house.inputs["calibrated_by"]["provider"],
        performed_on=house.days.date(row["performed"]),
        due_on=house.days.date(row["due"]),
        passed=True,
        by=house.manager,
        at=at,
        **fields,
    )


def _review(house: House, row: dict[str, Any], at: datetime) -> None:
    told = house.inputs["calibrated_by"]
    calibrations.review(
        calibration=house.calibrations[row["certificate"]],
        words=told["review"],
        by=house.people[told["reviewer"]],
        at=at,
    )
