"""The facts the gate is asked about, as plain values. `queries/facts.py` gathers them from the tables."""

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal


@dataclass(frozen=True)
class Rate:
    """A grip separation rate as it was stated: value and unit, in/min or mm/min."""

    value: Decimal
    unit: str

    def __str__(self) -> str:
        """As people write it: 11 in/min, not 11.000 in/min."""
        return f"{self.value.normalize():f} {self.unit}"


@dataclass(frozen=True)
class Setup:
    """A study's set-up, as far as the gate asks."""

    technique: str
    rate: Rate
    width_mm: Decimal
    width_measured: bool
    unit: str
    decimals: int
    threshold_fraction: float
    span_fraction: float
    conditioning_hours: float
    seal_width_mm: Decimal


@dataclass(frozen=True)
class Method:
    """A method version, as far as the gate asks."""

    name: str
    techniques: tuple[str, ...]
    rate_low_mm_min: Decimal
    rate_high_mm_min: Decimal
    rate_low_in_min: Decimal
    rate_high_in_min: Decimal
    widths_mm: tuple[Decimal, ...]
    conditioning_hours: float
    room_c: tuple[float, float]
    humidity_percent: tuple[float, float]
    rate_tolerance: float
    trace_agreement: float
    noise_share: float
    modes: tuple[str, ...]
    peeling_modes: tuple[str, ...]
    void_causes: tuple[str, ...]
    replacement_cap: int
    check_before_use: str = ""  # "mass" or "strip", where tester and cell are checked each day before they are used
    disuse_months: int = 0  # after which an authorisation lapses; 0: it does not


@dataclass(frozen=True)
class Calibration:
    """The latest reviewed calibration performed on or before a day."""

    certificate: str
    performed_on: date
    due_on: date
    passed: bool
    verified_low_n: float | None = None
    verified_high_n: float | None = None
    noise_n: float | None = None


@dataclass(frozen=True)
class Equipment:
    """An item of equipment on the day of a test."""

    label: str
    name: str
    capacity_n: float
    status: str  # "in service", "out of service", "retired", or what was done to it since it was last shown right
    calibration: Calibration | None
    calibrated: bool = True  # False for a cutter or a mass that no calibration is planned for


@dataclass(frozen=True)
class Authorisation:
    """One authorisation of a person for a technique, with the day before which it was withdrawn, if it was."""

    technique: str
    from_on: date
    until_on: date
    withdrawn_from: date | None = None
    last_used: date | None = None  # the latest day before the test on which the person kept a result under it


@dataclass(frozen=True)
class Study:
    """The study of the specimen or run in question."""

    code: str
    state: str
    locked: bool


@dataclass(frozen=True)
class Specimen:
    """A specimen as the gate sees it before an entry."""

    label: str
    study_code: str
    in_plan: bool
    void: bool
    received_at: datetime
    conditioned_since: datetime | None
    as_made: bool = True  # the plan names no treatment for its arm
    treatments: tuple["Treatment", ...] = ()
    discrepancies: tuple[str, ...] = ()  # of its lot, which the client has not answered
    result_words: str | None = None  # "9.31 N/15mm, kept at ... by ..." when it is done


@dataclass(frozen=True)
class Run:
    """The run on which an entry is to hang."""

    study_code: str
    person: str
    technique: str
    rate: Rate
    opened_at: datetime
    closed: bool
    room_c: float
    room_humidity_percent: float


@dataclass(frozen=True)
class Check:
    """A check of tester and cell together, before they are used."""

    kind: str  # "mass" or "strip"
    taken_at: datetime
    accepted: bool


@dataclass(frozen=True)
class Treatment:
    """What the arm of a specimen went through, and when it may be pulled."""

    kind: str
    pull_from: date | None
    pull_until: date | None


@dataclass(frozen=True)
class Trace:
    """What the entry's trace says of itself; `None` where it says nothing."""

    peak_force_n: float
    measured_rate_mm_min: float | None
    stated_rate: Rate | None
    stated_technique: str | None
    used_by: str | None  # label of the specimen that has this segment already
    start_open: bool
    end_open: bool
    peel_travel_mm: float
    threshold_fraction: float
    span_fraction: float
    deepest_fall: float = 0.0  # largest fall between two readings inside the analysed span, as a share of its mean
    put_in_order: int = 0  # steps back within the jitter, sorted by travel before anything was computed


@dataclass(frozen=True)
class Validation:
    """What a validation study says of the person at the bench, and of the strip if there is one."""

    takes_part: bool  # the plan names the person: results are what is to be shown, so no authorisation is asked yet
    drawn: bool
    dealt_to: str | None = None
    ahead: int = 0  # strips dealt to the same person that come before it and have not been pulled


@dataclass(frozen=True)
class Others:
    """What was kept of the same group before; nothing that waits for a decision, is void or could not be measured."""

    strengths: tuple[Decimal, ...] = ()  # in the unit of the set-up
    typed_before: tuple[str, ...] = ()  # what was typed last in the same run, newest first, with its unit
    of: str = "kept of this group"  # whose they are, in words that go behind their number


@dataclass(frozen=True)
class Entry:
    """What is to be recorded, with values already understood as numbers."""

    technique: str
    rate: Rate
    width_mm: Decimal
    modes: tuple[str, ...]
    opened: bool
    unit: str | None  # unit of the typed value; None when only a trace was sent
    peak_force_n: float | None
    typed_force_n: float | None
    tested_at: datetime
    tested_on: date
    tested_by: str
    trace: Trace | None = None
    confirmed: tuple[str, ...] = ()
    value_words: str = "no value"  # as it was sent: "9.31 N/15mm"
    strength: Decimal | None = None  # in the unit of the set-up
    typed: str | None = None  # as it is kept, with its unit; None when a trace gave the value


@dataclass(frozen=True)
class Facts:
    """Everything the gate is told at once."""

    now: datetime
    study: Study
    setup: Setup | None
    method: Method | None
    run: Run
    specimen: Specimen
    tester: Equipment
    cell: Equipment
    authorisations: tuple[Authorisation, ...]
    entry: Entry = field(repr=False)
    aids: tuple[Equipment, ...] = ()  # room sensor, width gauge, cutter, each at the moment it was used
    checks: tuple[Check, ...] = ()  # of tester and cell together, on the day of the test and before it
    validation: Validation | None = None  # None: the study validates nobody
    others: Others = field(default_factory=Others)
