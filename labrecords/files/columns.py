"""Which columns make up which specimen's trace, from what their headings say."""

from collections.abc import Sequence
from dataclasses import dataclass

from labrecords.rules import labels

from .headings import MASSES, Heading, is_per_width, unit_of
from .layout import Series


@dataclass(frozen=True)
class Choice:
    """Columns chosen, the unit of each role (None if not known), and what a person must confirm."""

    series: tuple[Series, ...]
    units: dict[str, str | None]
    notes: tuple[str, ...]


def choose(columns: Sequence[Heading]) -> Choice:
    """Columns of each specimen by their headings; no series without a force and a displacement or time."""
    notes: list[str] = []
    places = {role: _places(columns, role, notes) for role in ("force", "displacement", "time")}
    if not places["force"] and (places["displacement"] or places["time"]):
        places["force"] = _headed_by_codes(columns, notes)
    forces = _of_one_unit(columns, places["force"], notes)
    if not forces or not (places["displacement"] or places["time"]):
        return Choice((), dict.fromkeys(places), (*notes, _missing(places)))
    series = _series(forces, places["displacement"], places["time"], notes)
    notes += _left_out(columns, series)
    return Choice(series, _units(columns, series, notes), tuple(notes))


def guess(rows: Sequence[Sequence[float]]) -> Choice:
    """Columns of a table without headings: of two, one that never falls is followed by the force."""
    nothing = dict.fromkeys(("force", "displacement", "time"))
    xs = [row[0] for row in rows]
    if rows and all(len(row) == 2 for row in rows) and xs == sorted(xs):
        note = (
            "The columns have no headings. The first is taken for displacement and the second for force: "
            "confirm this, and choose their units."
        )
        return Choice((Series(force=1, displacement=0),), nothing, (note,))
    return Choice((), nothing, ("The columns have no headings. Choose what each of them holds, and its unit.",))


def _places(columns: Sequence[Heading], role: str, notes: list[str]) -> list[int]:
    """Columns of a role; a heading in words counts before a mere unit."""
    by_words = [place for place, column in enumerate(columns) if column.role == role and column.by_words]
    if by_words:
        return by_words
    by_unit = [place for place, column in enumerate(columns) if column.role == role]
    for place in (place for place in by_unit if not labels.find(columns[place].text)):
        notes.append(f"Column {place + 1} (“{columns[place].text}”) is taken for {role} because of its unit. Confirm.")
    return by_unit


def _headed_by_codes(columns: Sequence[Heading], notes: list[str]) -> list[int]:
    found = [place for place, column in enumerate(columns) if not column.role and labels.find(column.text, "SP")]
    if found:
        notes.append("Columns headed by a specimen's label code are taken for its force. Confirm, and choose the unit.")
    return found


def _of_one_unit(columns: Sequence[Heading], places: list[int], notes: list[str]) -> list[int]:
    """Force columns in the unit of the first: the same force in a second unit is not a second specimen."""
    same = [place for place in places if columns[place].mark == columns[places[0]].mark]
    if len(same) < len(places):
        notes.append(
            f"The force columns have different units. Only those in the unit of column {places[0] + 1} are read."
        )
    return same


def _series(forces: list[int], displacements: list[int], times: list[int], notes: list[str]) -> tuple[Series, ...]:
    if len(forces) == 1:
        for role, places in (("displacement", displacements), ("time", times)):
            if len(places) > 1:
                notes.append(f"{len(places)} columns may hold {role}. Column {places[0] + 1} is read; confirm.")
        return (Series(forces[0], next(iter(displacements), None), next(iter(times), None)),)
    notes.append(f"{len(forces)} force columns are read as {len(forces)} specimens side by side. Confirm.")
    xs, ts = (_beside(forces, places) for places in (displacements, times))
    return tuple(Series(*one) for one in zip(forces, xs, ts, strict=True))


def _beside(forces: list[int], places: list[int]) -> list[int | None]:
    """For each force column its own column of another role, or the one they share."""
    if len(places) == len(forces):
        return list(places)
    return [max((place for place in places if place < force), default=next(iter(places), None)) for force in forces]


def _left_out(columns: Sequence[Heading], series: tuple[Series, ...]) -> list[str]:
    """Columns that could be a specimen's force but are headed as something else."""
    used = {place for one in series for place in one.places}
    left = [column for place, column in enumerate(columns) if place not in used and column.role != "force"]
    doubtful = [column.text for column in left if unit_of(column.said)[0] == "force" or labels.find(column.text, "SP")]
    return [f"The column “{text}” is not read. Confirm that it is no trace." for text in doubtful]


def _missing(places: dict[str, list[int]]) -> str:
    if not places["force"]:
        return "No heading names a force. Choose the column that holds it, and its unit."
    return "No heading names a displacement or a time. Choose the column that holds it, and its unit."


def _units(columns: Sequence[Heading], series: tuple[Series, ...], notes: list[str]) -> dict[str, str | None]:
    units: dict[str, str | None] = {}
    for role in ("force", "displacement", "time"):
        used = sorted({place for one in series if (place := getattr(one, role)) is not None})
        units[role] = _unit(role, [columns[place] for place in used], notes)
    return units


def _unit(role: str, used: list[Heading], notes: list[str]) -> str | None:
    said = {column.said for column in used}
    units = {column.unit for column in used}
    if not used:
        return None
    if len(units) > 1:
        notes.append(f"The {role} columns have different units. Export them in one unit.")
    elif any(is_per_width(text) for text in said):
        notes.append(f"“{used[0].said}” is a force per width. Export the plain force instead.")
    elif None in units:
        notes.append(_no_unit(role, used[0]))
    elif {text.casefold() for text in said} & MASSES:
        notes.append(f"“{used[0].said}” is a unit of mass; the force of that mass ({used[0].unit}) is meant. Confirm.")
    return next(iter(units)) if len(units) == 1 else None


def _no_unit(role: str, column: Heading) -> str:
    if column.said:
        return f"“{column.said}” is not a unit of {role} known here. Choose the unit that is meant."
    return f"The file states no unit for {role}. Choose it."
