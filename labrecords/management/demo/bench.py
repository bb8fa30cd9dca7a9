"""The bench of a demo study: runs, pulls with their trace files, and what was tried and refused there."""

import uuid
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from labrecords.actions import reports, results, runs, traces, voids
from labrecords.files.sniff import sniff

from . import validation
from .acts import Act
from .story import Story, seen
from .strips import Strip, file_text, strip, trace
from .tries import refused_with

PULL = timedelta(minutes=4)
WRITTEN = timedelta(minutes=1)  # from the pull to the entry


def acts(story: Story) -> Iterator[Act]:
    """Every act at the bench, refused ones too."""
    moment = story.house.days.moment
    for row in story.script.get("run", []):
        opened = moment(row["opened"])
        first, last = (1, row["dealt"]) if "dealt" in row else row["strips"]
        yield Act(opened, partial(_open, story, row))
        for step, number in enumerate(range(first, last + 1), start=1):
            yield Act(opened + step * PULL, partial(_pull, story, row, number))
        if not row.get("left_open"):
            yield Act(opened + (last - first + 2) * PULL, partial(_close, story, row))
    for row in story.script.get("refused", []):
        yield Act(moment(row["at"]), partial(_refused, story, row))


def _open(story: Story, row: dict[str, Any], at: datetime) -> str:
    row["run"] = open_run(story, row, at)
    story.runs.append(row["run"])
    return f"{story.study.code}: run {row['run'].number} of {row['run'].person.name}."


def open_run(story: Story, row: dict[str, Any], at: datetime):
    """A run as the fixtures state it; they may name another rate, which is refused."""
    person = story.person(row["person"])
    return runs.open_run(
        study=story.study,
        tester=story.house.equipment[row["tester"]],
        cell=story.house.equipment[row["cell"]],
        person=person,
        room_sensor=story.house.equipment["room"],
        room_c=float(row["room"][0]),
        room_humidity_percent=float(row["room"][1]),
        rate=row.get("rate"),
        rate_unit=row.get("rate_unit"),
        by=person,
        at=at,
    )


def _close(story: Story, row: dict[str, Any], at: datetime) -> None:
    runs.close_run(run=row["run"], by=story.person(row["person"]), at=at)


def _pull(story: Story, row: dict[str, Any], number: int, at: datetime) -> None:
    if "dealt" in row:
        number = validation.dealt(story, row["person"], number)
    lot = row.get("lot", story.script["lot"][0]["name"])
    specimen = story.strips[(lot, number)]
    pulled = strip(story.script, lot=lot, number=number, group=specimen.group.number)
    chosen = None if pulled.kind == "opened" else _file(story, row, specimen.label, pulled, at)
    person = story.person(row["person"])
    results.enter(
        specimen=specimen.label,
        reading=reading(story, at - WRITTEN, pulled, trace=chosen),
        run=row["run"],
        tested_by=person,
        entered_by=person,
        at=at,
        key=uuid.uuid4(),
    )


def reading(story: Story, tested_at: datetime, pulled: Strip, **changed: Any) -> results.Reading:
    """What was seen of a strip; a trace that looks odd because the web tore has been looked at."""
    setup = story.script["setup"]
    fields = {
        "technique": setup["technique"],
        "rate": setup["rate"],
        "rate_unit": setup["rate_unit"],
        "width_mm": setup["width_mm"],
        "tested_at": tested_at,
        "modes": pulled.modes,
        "opened": pulled.kind == "opened",
        "remark": pulled.remark,
        "confirmed": ("odd-trace",) if pulled.kind in ("tear", "slip") else (),
    }
    return results.Reading(**fields | changed)


def _file(story: Story, row: dict[str, Any], label: str, pulled: Strip, at: datetime) -> results.TraceChoice:
    house, person = story.house, story.person(row["person"])
    tester, cell = house.equipment[row["tester"]], house.equipment[row["cell"]]
    shown = replace(pulled, mean_force_n=pulled.mean_force_n * float(row.get("shows", 1)))
    pull = trace(shown, story.script["setup"], capacity_n=float(cell.capacity_n))
    content = file_text([pull], story.script["setup"], codes=[label], **house.written(row["tester"])).encode()
    received = traces.receive_file(study=story.study, name=f"{label}.csv", content=content, by=person, at=at)
    if row["tester"] not in house.layouts:
        house.layouts[row["tester"]] = sniff(content).layout.to_json()
        traces.remember_layout(tester=tester, layout=house.layouts[row["tester"]], by=person, at=at)
    return results.TraceChoice(file=received.file, segment=1, layout=house.layouts[row["tester"]])


def _refused(story: Story, row: dict[str, Any], at: datetime) -> None:
    attempt = {
        "open a run": open_run,
        "enter a result": _enter_typed,
        "void a specimen": _void,
        "release a report": _release,
    }[row["act"]]
    refused_with(row["expect"], lambda: attempt(story, row, at))


def _enter_typed(story: Story, row: dict[str, Any], at: datetime) -> None:
    run, specimen = story.runs[row["run"] - 1], story.strips[(row["lot"], row["number"])]
    pulled = strip(story.script, lot=row["lot"], number=row["number"], group=specimen.group.number)
    changed = {"technique": row["technique"]} if "technique" in row else {}
    typed = {"typed": row["typed"], "unit": story.script["setup"]["unit"]}
    results.enter(
        specimen=specimen.label,
        reading=reading(story, at - WRITTEN, pulled, **typed, **changed),
        run=run,
        tested_by=run.person,
        entered_by=run.person,
        at=at,
        key=uuid.uuid4(),
    )


def _void(story: Story, row: dict[str, Any], at: datetime) -> None:
    specimen = story.strips[(row["lot"], row["number"])]
    voids.void(specimen=specimen, cause=row["cause"], words=row["words"], by=story.person(row["by"]), at=at)


def _release(story: Story, row: dict[str, Any], at: datetime) -> None:
    by = story.person(row["by"])
    reports.release(study=story.study, seen_sha256=seen(story, by), password=row["typed"], by=by, at=at)
