"""The demo's window study: what was seen of its settings, and the limit that came of it."""

from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from typing import Any

from labrecords.actions import limits, windows
from labrecords.queries import windows as found

from .acts import Act
from .house import House


def acts(script: dict[str, Any], house: House, study: Callable[[], Any]) -> Iterator[Act]:
    """Evidence, proposal and approval, each at its moment; nothing for other studies."""
    moment = house.days.moment
    for row in script.get("evidence", []):
        yield Act(moment(row["at"]), partial(_see, house, study, row))
    for row in script.get("proposal", []):
        yield Act(moment(row["at"]), partial(_propose, house, study, row))
        yield Act(moment(row["approved"]), partial(_approve, house, row))


def _see(house: House, study: Callable[[], Any], row: dict[str, Any], at: datetime) -> None:
    setting = next(one for one in found.settings(study()) if one.lot == row["lot"])
    told = {name: row[name] for name in ("kind", "passed", "words")}
    windows.keep_evidence(setting=setting, by=house.people[row["by"]], at=at, **told)


def _propose(house: House, study: Callable[[], Any], row: dict[str, Any], at: datetime) -> str:
    told = {name: row[name] for name in ("side", "margin_percent", "rationale")}
    row["limit"] = limits.propose(study=study(), by=house.people[row["by"]], at=at, **told)
    return f"{row['limit']} proposed from {study().code}."


def _approve(house: House, row: dict[str, Any], at: datetime) -> None:
    by = house.people[row["approved_by"]]
    limits.decide(limit=row["limit"], approved=True, words=row["words"], by=by, at=at)
