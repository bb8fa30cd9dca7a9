"""What stops work now and what falls due: equipment and authorisations on one list, with what each blocks."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from labrecords.models import Authorisation, Calibration, MethodVersion, Run, Study, User
from labrecords.rules import wording
from labrecords.rules.authorisation import last_day
from labrecords.rules.study_states import LOCKED, TESTING

from . import equipment, lab, people, studies

NOW, SOON, NEXT, LATER = "Stops work now", "Within 14 days", "Within 60 days", "Later"
GROUPS = (NOW, SOON, NEXT, LATER)
# An authorisation that ended longer ago is history, not a due date. common practice, no source
REMEMBERED_DAYS = 90


@dataclass(frozen=True)
class Due:
    """One thing on the list: what it is, what is due, when, and what it blocks. `key` stays the same over time."""

    key: str
    what: str
    due: str
    on: date | None
    days: int | None
    group: str
    url: tuple[str, str]
    blocks: tuple[str, ...]
    owner: str
    changed_at: datetime | None = None  # when the record behind the day was last added to
    person: Any = None

    @property
    def kind(self) -> str:
        return {NOW: "stop", SOON: "due"}.get(self.group, "ok" if self.group == LATER else "due")

    @property
    def overdue(self) -> bool:
        return self.group == NOW


def group_of(days: int | None, *, stops: bool = False) -> str:
    """Which part of the list a number of days belongs to."""
    if stops or (days is not None and days < 0):
        return NOW
    if days is None:
        return LATER
    return SOON if days <= 14 else NEXT if days <= 60 else LATER


def everything(moment: datetime) -> list[Due]:
    """All of it, soonest first, ties by how much each blocks; a constant number of queries."""
    day = lab.day(moment)
    rows = [*_equipment(moment), *_authorisations(day, moment), *_unreviewed()]
    return sorted(rows, key=lambda row: (GROUPS.index(row.group), row.on or day, -len(row.blocks), row.what))


def _equipment(moment: datetime) -> Iterable[Due]:
    used = _used_in()
    for row in equipment.standings(moment):
        item = row.item
        if row.days_left is None and not row.stops:
            continue
        # a date that is not what stops it would only mislead
        dated = not row.stops or row.stops[0].code == "calibration-overdue"
        said = wording.WORDS[row.stops[0].code].headline if row.stops else "calibration due"
        yield Due(
            key=f"calibration-{item.label}",
            what=f"{item.name} ({item.label})",
            due=said,
            on=row.calibration.due_on if row.calibration and dated else None,
            days=row.days_left if dated else None,
            group=group_of(row.days_left, stops=bool(row.stops)),
            url=("equipment-item", item.label),
            blocks=tuple(used.get(item.pk, ())),
            owner="lab manager",
            changed_at=row.calibration.at if row.calibration else None,
        )


def _used_in() -> dict[Any, list[str]]:
    """By item, the open runs on it, and the studies in testing that were run on it and have strips left."""
    runs = Run.objects.filter(study__state=TESTING).select_related("study")
    left = dict(studies.with_strips_left().values_list("pk", "left"))
    used: dict[Any, dict[str, None]] = defaultdict(dict)
    for run in runs:
        words = f"run {run.number} of {run.study.code}" if run.closed_at is None else ""
        if not words and left.get(run.study_id):
            words = f"{run.study.code}, {left[run.study_id]} to test"
        for item in filter(None, (run.tester_id, run.cell_id, run.room_sensor_id, run.width_gauge_id)):
            if words:
                used[item][words] = None
    return {item: list(words) for item, words in used.items()}


def _authorisations(day: date, moment: datetime) -> Iterable[Due]:
    """The authorisation of each person, version and technique that holds longest."""
    held = Authorisation.objects.filter(person__is_active=True).select_related(
        "person", "method_version__method", "withdrawal"
    )
    used = {version: people.last_used(version, before=moment) for version in {item.method_version for item in held}}
    needed = _techniques_in_use()
    best: dict[tuple, tuple[date, Authorisation]] = {}
    for item in held:
        version = item.method_version
        known = people.as_facts(item, last_used=used[version].get(item.person_id, {}).get(item.technique))
        last = last_day(known, disuse_months=version.disuse_months)
        key = (item.person_id, version.pk, item.technique)
        best[key] = max(best.get(key, (last, item)), (last, item), key=lambda pair: pair[0])
    for last, item in best.values():
        days = (last - day).days
        if days < -REMEMBERED_DAYS or hasattr(item, "withdrawal"):
            continue
        codes = needed.get((item.method_version_id, item.technique), [])
        yield Due(
            key=authorisation_key(item),
            what=f"{item.person.name}, technique {item.technique} of {item.method_version}",
            due="authorisation ended" if days < 0 else "authorisation ends",
            on=last,
            days=days,
            group=group_of(days),
            url=("person", item.person.username),
            blocks=tuple(f"{code}: one tester fewer" for code in codes),
            owner=item.person.name,
            changed_at=item.at,
            person=item.person_id,
        )


def authorisation_key(item: Authorisation) -> str:
    """What the due date of an authorisation is known by, over its renewals."""
    version = f"{item.method_version.method.code}-{item.method_version.number}"
    return f"authorisation-{item.person.username}-{version}-{item.technique}"


def _techniques_in_use() -> dict[tuple, list[str]]:
    found = Study.objects.filter(state__in=[LOCKED, TESTING]).order_by("code")
    needed: dict[tuple, list[str]] = defaultdict(list)
    for code, version, technique in found.values_list("code", "setup__method_version", "setup__technique"):
        needed[(version, technique)].append(code)
    return needed


def _unreviewed() -> Iterable[Due]:
    """Calibrations that nobody has reviewed stop whatever waits for them."""
    for made in Calibration.objects.filter(review__isnull=True, superseded_by__isnull=True).select_related("equipment"):
        yield Due(
            key=f"review-{made.pk}",
            what=f"{made.equipment.name} ({made.equipment.label})",
            due=f"certificate {made.certificate} waits for a review",
            on=None,
            days=None,
            group=SOON,
            url=("review-calibration", str(made.pk)),
            blocks=(),
            owner="a second person",
        )


@dataclass(frozen=True)
class Cell:
    """One cell of the matrix of people and techniques: until when, and how that stands."""

    until: date | None
    kind: str
    word: str


def matrix(moment: datetime, version: MethodVersion) -> list[tuple[User, list[Cell]]]:
    """Everybody who may enter results, with each technique of a method version."""
    day = lab.day(moment)
    used = people.last_used(version, before=moment)
    held = defaultdict(list)
    for item in Authorisation.objects.filter(method_version=version).select_related("withdrawal"):
        known = people.as_facts(item, last_used=used.get(item.person_id, {}).get(item.technique))
        if known.from_on <= day:
            last = last_day(known, disuse_months=version.disuse_months)
            held[(item.person_id, item.technique)].append(last)
    testers = User.objects.filter(is_active=True, groups__name__in=["technician", "engineer"]).distinct()
    return [
        (person, [_cell(max(held.get((person.pk, one), []), default=None), day) for one in version.techniques])
        for person in testers.order_by("name")
    ]


def _cell(until: date | None, day: date) -> Cell:
    if until is None:
        return Cell(None, "idle", "none")
    days = (until - day).days
    if days < 0:
        return Cell(until, "stop", "ended")
    return Cell(until, "due" if days <= 60 else "ok", "ends" if days <= 60 else "until")
