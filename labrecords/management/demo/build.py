"""The demo, built through the actions, so that it obeys every rule and has a true audit trail."""

import pathlib
import zoneinfo
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from . import acts, bench, drop, house, inputs, mark, story
from .days import Days


@dataclass(frozen=True)
class Account:
    """How somebody signs in to the demo, and what they do there."""

    user: str
    password: str
    name: str
    does: str


@dataclass(frozen=True)
class Built:
    """A demo that has been built: who may sign in, the device's token, and trace files for one study."""

    accounts: tuple[Account, ...]
    pins: dict[str, str]  # of badges, by their code
    token: str
    folder: pathlib.Path
    code: str


def calendar(today: date | None, *, clock: datetime) -> Days:
    """The demo's calendar around a day, in its laboratory's zone. Raises ValueError for a day to come."""
    zone = inputs.laboratory()["laboratory"]["time_zone"]
    return Days.on(today, clock=clock, zone=zoneinfo.ZoneInfo(zone))


def build(*, home: pathlib.Path, days: Days, say: Callable[[str], object]) -> Built:
    """Build the demo in an empty database. Raises ValueError, and changes nothing, when there are people."""
    made = house.House(inputs.laboratory(), days)
    house.found(made)
    mark.leave(home, made.laboratory.pk, mark.BEGUN)
    say(f"{made.laboratory.name}, as it stands on {days.today:%A} {days.today.day} {days.today:%B %Y}.")
    house.furnish(made)
    say(f"{len(made.people)} people, {len(made.projects)} clients, {len(made.equipment)} items of equipment.")
    stories = [story.Story(script, made) for script in inputs.studies()]
    acts.perform(_acts(made, stories), say=say)
    built = _built(made, stories, mark.folder(home) / "traces-to-drop")
    mark.leave(home, made.laboratory.pk, mark.WHOLE)
    return built


def _acts(made: house.House, stories: list[story.Story]) -> list[acts.Act]:
    every = list(house.acts(made))
    for one in stories:
        every += [*story.acts(one), *bench.acts(one)]
    return every


def _built(made: house.House, stories: list[story.Story], folder: pathlib.Path) -> Built:
    testing = next(one for one in stories if "drop" in one.script)
    run: dict[str, Any] = testing.script["run"][-1]
    drop.write(folder, drop.files(testing, tester=run["tester"], cell=run["cell"]))
    accounts = tuple(
        Account(row["user"], made.passwords[row["user"]], row["name"], row["does"]) for row in made.inputs["people"]
    )
    return Built(accounts, made.pins, made.token, folder, testing.study.code)
