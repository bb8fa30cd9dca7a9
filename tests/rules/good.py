"""Facts with which everything is in order: one set-up, one run, one specimen, one entry of an invented laboratory.

A test changes what it is about and leaves the rest good: facts(entry={"technique": "C"}).
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from labrecords.rules import facts as plain
from labrecords.rules.run_opening import Opening

NOW = datetime(2026, 5, 20, 9, 0, tzinfo=UTC)
TODAY = date(2026, 5, 20)


def rate(text: str) -> plain.Rate:
    """A rate as people write it: "12 in/min"."""
    value, unit = text.split()
    return plain.Rate(Decimal(value), unit)


METHOD = plain.Method(
    name="P-3 version 1",
    techniques=("A", "B"),
    rate_low_mm_min=Decimal("200.000"),
    rate_high_mm_min=Decimal("300.000"),
    rate_low_in_min=Decimal("8.000"),
    rate_high_in_min=Decimal("12.000"),
    widths_mm=(Decimal("15.000"), Decimal("25.400")),
    conditioning_hours=40.0,
    room_c=(21.0, 25.0),
    humidity_percent=(45.0, 55.0),
    rate_tolerance=0.02,
    trace_agreement=0.005,
    noise_share=0.01,
    modes=("AP", "CO", "BR"),
    peeling_modes=("AP", "CO"),
    void_causes=("slip", "cut"),
    replacement_cap=2,
)
SETUP = plain.Setup(
    technique="A",
    rate=rate("10.000 in/min"),
    width_mm=Decimal("25.400"),
    width_measured=False,
    unit="lbf/in",
    decimals=2,
    threshold_fraction=0.2,
    span_fraction=0.8,
    conditioning_hours=40.0,
    seal_width_mm=Decimal("10.00"),
)
STUDY = plain.Study(code="S-2026-001", state="testing", locked=True)
SPECIMEN = plain.Specimen(
    label="SP-000123-N",
    study_code=STUDY.code,
    in_plan=True,
    void=False,
    received_at=NOW - timedelta(days=7),
    conditioned_since=NOW - timedelta(days=5),
)
RUN = plain.Run(
    study_code=STUDY.code,
    person="Runa Vik",
    technique="A",
    rate=rate("10 in/min"),
    opened_at=NOW - timedelta(hours=1),
    closed=False,
    room_c=23.0,
    room_humidity_percent=50.0,
)
CALIBRATION = plain.Calibration(
    certificate="C-17",
    performed_on=date(2026, 1, 10),
    due_on=date(2026, 12, 31),
    passed=True,
    verified_low_n=0.5,
    verified_high_n=50.0,
    noise_n=0.002,
)
CELL = plain.Equipment(
    label="LC-000090-K", name="Cell 50 N", capacity_n=50.0, status="in service", calibration=CALIBRATION
)
TESTER = plain.Equipment(
    label="TS-000002-3",
    name="Bench tester 1",
    capacity_n=500.0,
    status="in service",
    calibration=replace(CALIBRATION, certificate="C-18", verified_low_n=None, verified_high_n=None, noise_n=None),
)
AUTHORISATION = plain.Authorisation(technique="A", from_on=date(2026, 1, 1), until_on=date(2026, 12, 31))
ENTRY = plain.Entry(
    technique="A",
    rate=rate("10 in/min"),
    width_mm=Decimal("25.4"),
    modes=("AP",),
    opened=False,
    unit="lbf/in",
    peak_force_n=9.31,
    typed_force_n=9.31,
    tested_at=NOW,
    tested_on=TODAY,
    tested_by="Runa Vik",
)
TRACE = plain.Trace(
    peak_force_n=9.31,
    measured_rate_mm_min=254.0,
    stated_rate=rate("10 in/min"),
    stated_technique="A",
    used_by=None,
    start_open=False,
    end_open=False,
    peel_travel_mm=10.0,
    threshold_fraction=0.2,
    span_fraction=0.8,
)
FACTS = plain.Facts(
    now=NOW,
    study=STUDY,
    setup=SETUP,
    method=METHOD,
    run=RUN,
    specimen=SPECIMEN,
    tester=TESTER,
    cell=CELL,
    authorisations=(AUTHORISATION,),
    entry=ENTRY,
)
OPENING = Opening(
    on=TODAY,
    study=STUDY,
    setup=SETUP,
    method=METHOD,
    run=RUN,
    tester=TESTER,
    cell=CELL,
    authorisations=(AUTHORISATION,),
    expected_weak_n=4.0,
    expected_strong_n=20.0,
    cell_accepted=False,
)


def traced(**changed: Any) -> plain.Entry:
    """The good entry with a trace beside the typed value; named fields of the trace differ."""
    return replace(ENTRY, trace=replace(TRACE, **changed))


def calibrated(item: plain.Equipment, **changed: Any) -> plain.Equipment:
    """Equipment whose calibration differs in the named fields."""
    return replace(item, calibration=replace(item.calibration, **changed))


def facts(**parts: Any) -> plain.Facts:
    """The good facts, with named fields of the named parts changed; a part that is no dict takes its place whole."""
    return _changed(FACTS, parts)


def opening(**parts: Any) -> Opening:
    """The same for the opening of a run."""
    return _changed(OPENING, parts)


def _changed(whole: Any, parts: dict[str, Any]) -> Any:
    def part(name: str, given: Any) -> Any:
        return replace(getattr(whole, name), **given) if isinstance(given, dict) else given

    return replace(whole, **{name: part(name, given) for name, given in parts.items()})
