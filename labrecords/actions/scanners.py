"""Scanners: what each made of the test label is kept."""

from datetime import datetime

from labrecords.models import Equipment, ScannerCheck, User
from labrecords.queries import access
from labrecords.rules import scanner_check
from labrecords.rules.answers import Answer

from . import trail
from .equipment import subject
from .refusals import one_act


def check(*, tester: Equipment, scanned: str, framed: bool, by: User, at: datetime) -> ScannerCheck:
    """Keep what the scanner at a tester made of the test label, and whether that was right."""
    access.demand(by, "open a run")
    with one_act("check a scanner", by=by, at=at, tried=f"check the scanner at {tester.label}") as stop:
        if tester.kind != Equipment.TESTER:
            stop([Answer("not-a-tester", f"{tester.name} is a {tester.get_kind_display()}.", {"kind": tester.kind})])
        wrong = scanner_check.wrong(scanned)
        kept = ScannerCheck.objects.create(
            tester=tester,
            scanned=scanned[: scanner_check.LONGEST],
            framed=framed,
            passed=not wrong,
            wrong=wrong,
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "scanned": kept.scanned, "framed": framed, "passed": kept.passed, "wrong": wrong}
        trail.write("scanner.checked", subject=subject(tester), by=by, at=at, after=after)
    return kept
