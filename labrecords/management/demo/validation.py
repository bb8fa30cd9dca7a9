"""The demo's validation study: its order drawn, and what the manager made of it."""

from collections.abc import Iterator
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any

from labrecords.actions import validations
from labrecords.queries import validation_plans

from .acts import Act

if TYPE_CHECKING:
    from .story import Story


def planned(story: "Story") -> dict[str, Any]:
    """The validation's part of a plan; nothing for other studies."""
    if "validation" not in story.script:
        return {}
    row = story.script["validation"]
    people = {name: [story.person(user) for user in row[name]] for name in ("group", "joins")}
    return {"validation": row | people}


def acts(story: "Story") -> Iterator[Act]:
    """The draw and the decision, each at its moment; nothing for other studies."""
    moment = story.house.days.moment
    for key, act in (("order", _draw), ("validated", _decide)):
        if key in story.script:
            yield Act(moment(story.script[key]["at"]), partial(act, story, story.script[key]))


def _draw(story: "Story", row: dict[str, Any], at: datetime) -> None:
    validations.draw_order(study=story.study, seed=row["seed"], by=story.person(row["by"]), at=at)


def dealt(story: "Story", user: str, place: int) -> int:
    """The number in its lot of the strip that was dealt to a person at a place."""
    found = validation_plans.place(story.study, story.person(user), place)
    return next(number for (_, number), strip in story.strips.items() if strip.pk == found.specimen_id)


def _decide(story: "Story", row: dict[str, Any], at: datetime) -> str:
    days = story.house.days
    validations.decide(
        study=story.study,
        passed=row["passed"],
        words=row["words"],
        authorised=[story.person(user) for user in row["authorised"]],
        from_on=at.date(),
        until_on=days.date(row["until"]),
        by=story.person(row["by"]),
        at=at,
    )
    return f"{story.study.code}: the validation is decided."
