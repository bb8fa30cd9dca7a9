"""Checks before use: readings of a mass or a reference strip, their limits, and the hold that a signal brings."""

from datetime import datetime

from labrecords.models import CheckBaseline, CheckReading, Equipment, EquipmentEvent, MethodVersion, User
from labrecords.queries import access, lab
from labrecords.queries import checks as found
from labrecords.queries import equipment as standing
from labrecords.rules import check_before_use
from labrecords.rules.answers import Answer
from labrecords.rules.calibration import check_equipment
from labrecords.stats import control

from . import equipment, trail
from .refusals import one_act

FEWEST = 8


def take(
    *,
    tester: Equipment,
    cell: Equipment,
    standard: Equipment,
    value_n: float,
    taken_at: datetime,
    by: User,
    at: datetime,
    remark: str = "",
) -> CheckReading:
    """Keep what tester and cell showed. One that is not accepted, or breaks a rule of the chart, holds the cell."""
    access.demand(by, "take a check")
    tried = f"check {tester.label} with {cell.label}: {value_n:g} N"
    with one_act("take a check", by=by, at=at, tried=tried) as stop:
        Equipment.objects.select_for_update().get(pk=cell.pk)
        if taken_at > at:
            stop([Answer("in-the-future", f"The check is said to be of {taken_at:%d %B %Y, %H:%M}, which is to come.")])
        stop(check_before_use.check_kinds(tester=tester.kind, cell=cell.kind, standard=standard.kind))
        on = lab.day(taken_at)
        stop(check_equipment(standing.as_facts(standard, taken_at, on), on=on))
        limits = found.baseline(tester, cell, standard)
        signals = _signals(limits, tester, cell, standard, value_n, taken_at)
        accepted = _accepted(standard, value_n, limits, signals)
        kept = CheckReading.objects.create(
            tester=tester,
            cell=cell,
            standard=standard,
            value_n=value_n,
            taken_at=taken_at,
            accepted=accepted,
            signals=list(signals),
            baseline=limits,
            remark=remark,
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "cell": cell.label, "value_n": repr(value_n), "accepted": accepted}
        after |= {"standard": standard.label, "signals": list(signals)}
        trail.write("check.taken", subject=equipment.subject(tester), by=by, at=at, after=after)
        if not accepted and standing.status_at(cell, taken_at) == standing.IN_SERVICE:
            _hold(kept)
    return kept


def _signals(limits, tester, cell, standard, value_n: float, taken_at: datetime) -> tuple[str, ...]:
    if limits is None or limits.moving_range_n <= 0:
        return ()
    # after a hold was lifted the runs begin anew: what was looked into then does not hold the cell again
    lifted = EquipmentEvent.objects.filter(equipment=cell, kind=EquipmentEvent.BACK, happened_at__lt=taken_at).first()
    earlier = found.readings(tester, cell, standard).filter(taken_at__lt=taken_at)
    if lifted is not None:
        earlier = earlier.filter(taken_at__gt=lifted.happened_at)
    values = earlier.values_list("value_n", flat=True)
    sigma, range_limit = check_before_use.spread_of(limits.moving_range_n)
    return check_before_use.new_signals(
        [*values, value_n], centre=limits.centre_n, sigma=sigma, range_limit=range_limit
    )


def _accepted(standard: Equipment, value_n: float, limits: CheckBaseline | None, signals: tuple[str, ...]) -> bool:
    if signals:
        return False
    if standard.kind == Equipment.STRIP:
        return limits is not None or value_n > 0  # before there are limits, strips only gather readings
    return check_before_use.within_tolerance(value_n, nominal_n=standard.nominal_n, tolerance=tolerance())


def tolerance() -> float:
    """The strictest tolerance of any method that asks for a check; 1 % where none does."""
    asked = MethodVersion.objects.exclude(check_before_use="").values_list("check_tolerance", flat=True)
    return min(asked, default=0.01)


def _hold(kept: CheckReading) -> None:
    told = "; ".join(kept.signals) or f"more than the tolerance from {kept.standard.nominal_n:g} N"
    equipment.stop_at_once(
        equipment=kept.cell,
        reason=f"Check with {kept.standard.name} on {kept.tester.name}: {kept.value_n:g} N, {told}.",
        by=kept.by,
        at=kept.at,
        happened_at=kept.taken_at,
    )


def set_baseline(
    *, tester: Equipment, cell: Equipment, standard: Equipment, name: str, by: User, at: datetime
) -> CheckBaseline:
    """Limits from the accepted readings so far: centre and mean moving range, under a name that says which."""
    access.demand(by, "keep equipment")
    with one_act("set a baseline", by=by, at=at, tried=f"set limits for {cell.label} on {tester.label}") as stop:
        values = list(found.readings(tester, cell, standard).filter(accepted=True).values_list("value_n", flat=True))
        if len(values) < FEWEST or len(set(values)) < 2:
            stop([Answer("baseline-too-short", f"There are {len(values)} accepted readings.")])
        chart = control.individuals(values)
        kept = CheckBaseline.objects.create(
            tester=tester,
            cell=cell,
            standard=standard,
            name=name,
            readings=len(values),
            centre_n=chart.centre,
            moving_range_n=chart.mr_bar,
            by=by,
            at=at,
        )
        after = {"id": kept.pk, "name": name, "cell": cell.label, "standard": standard.label, "readings": len(values)}
        trail.write("check.baseline-set", subject=equipment.subject(tester), by=by, at=at, after=after)
    return kept
