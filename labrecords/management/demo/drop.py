"""Trace files of strips that are still to be tested, written to disk for somebody to drop on the study's page."""

import pathlib
from typing import Any

from .story import Story
from .strips import file_text, strip, trace


def files(story: Story, *, tester: str, cell: str) -> dict[str, str]:
    """Name and text of each file, as this tester and cell would have made it."""
    written = story.house.written(tester)
    capacity_n = float(story.house.equipment[cell].capacity_n)
    return dict(_file(story, row, written, capacity_n) for row in story.script.get("drop", []))


def _file(story: Story, row: dict[str, Any], written: dict[str, str], capacity_n: float) -> tuple[str, str]:
    lot, setup = story.script["lot"][0]["name"], story.script["setup"]
    labels, pulls = [], []
    for number in row["strips"]:
        specimen = story.strips[(lot, number)]
        pulled = strip(story.script, lot=lot, number=number, group=specimen.group.number)
        labels.append(specimen.label)
        pulls.append(trace(pulled, setup, capacity_n=capacity_n, rate=row.get("rate")))
    layout = written | ({"layout": row["layout"]} if "layout" in row else {})
    text = file_text(pulls, setup, codes=labels, rate=row.get("rate"), **layout)
    return row.get("name", f"{labels[0]}.csv"), text


def write(folder: pathlib.Path, found: dict[str, str]) -> None:
    """Put the files into the folder, which holds nothing else afterwards."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    for name, text in found.items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
