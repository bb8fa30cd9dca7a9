"""The demo's protocols: put to the client, answered, and a plan that had to be written anew."""

from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from labrecords.actions import protocols, studies

from .acts import Act
from .tries import refused_with

if TYPE_CHECKING:
    from .story import Story


def acts(story: "Story", *, replan: Callable[[datetime], None]) -> Iterator[Act]:
    """Every version with its answer, and what came between two versions."""
    moment, first = story.house.days.moment, story.script.get("first", {})
    if "tried" in first:
        yield Act(moment(first["tried"]), partial(_try, story))
    if "again" in first:
        yield Act(moment(first["again"]), replan)
    for row in story.script.get("protocol", []):
        yield Act(moment(row["put"]), partial(_put, story, row))
        if "answered" in row:
            yield Act(moment(row["answered"]), partial(_answer, story, row))


def _try(story: "Story", at: datetime) -> None:
    refused_with(["rate-outside-method"], lambda: studies.lock(study=story.study, by=story.planner, at=at))


def _put(story: "Story", row: dict[str, Any], at: datetime) -> str:
    password = story.house.passwords[story.script["planner"]]
    row["made"] = protocols.put(
        study=story.study, words=row.get("told", ""), password=password, by=story.planner, at=at
    )
    return f"{story.study.code}: {row['made']} put to the client."


def _answer(story: "Story", row: dict[str, Any], at: datetime) -> None:
    protocols.answer(
        protocol=row["made"],
        agreed=row["agreed"],
        words=row.get("words", ""),
        password=story.house.passwords[row["by"]],
        by=story.person(row["by"]),
        at=at,
    )
