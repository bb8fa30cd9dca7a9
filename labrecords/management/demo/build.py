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
    """A demo that has been built: who may sign in, the device's token, and where trace files lie."""

    accounts: tuple[Account, ...]
    token: str
    folder: pathlib.Path
    code: str  # of the study to which those files belong


def build(*, home: pathlib.Path, clock: datetime, today: date | None, say: Callable[[str], None]) -> Built:
    """Build the demo in an empty database, around a day. Raises ValueError when there are people already."""
    told = inputs.laboratory()
    days = Days.on(today, clock=clock, zone=zoneinfo.ZoneInfo(told["laboratory"]["time_zone"]))
    made = house.House(told, days)
    house.found(made)
    mark.leave(home, made.laboratory.pk)
    say(f"{made.laboratory.name}, as it stands on {days.today:%A} {days.today.day} {days.today:%B %Y}.")
    house.furnish(made)
    say(f"{len(made.people)} people, {len(made.projects)} clients, {len(made.equipment)} items of equipment.")
    stories = [story.Story(script, made) for script in inputs.studies()]
    acts.perform(_acts(made, stories), say=say)
    return _built(made, stories, home)


def _acts(made: house.House, stories: list[story.Story]) -> list[acts.Act]:
    every = list(house.acts(made))
    for one in stories:
        every += [*story.acts(one), *bench.acts(one)]
    return every


def _built(made: house.House, stories: list[story.Story], home: pathlib.Path) -> Built:
    testing = next(one for one in stories if "drop" in one.script)
    run: dict[str, Any] = testing.script["run"][-1]
    folder = mark.folder(home) / "traces-to-drop"
    drop.write(folder, drop.files(testing, tester=run["tester"], cell=run["cell"]))
    accounts = tuple(
        Account(row["user"], made.passwords[row["user"]], row["name"], row["does"]) for row in made.inputs["people"]
    )
    return Built(accounts, made.token, folder, testing.study.code)
