"""The results of a study: which count, which are void, and as what they count."""

from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Exists, OuterRef, QuerySet

from labrecords.models import Deviation, DeviationDecision, Limit, Refusal, Result, Study, User, Void
from labrecords.stats import units

from . import access

HIDDEN = "Not shown while the result that was kept later waits for a decision."


def latest(study: Study) -> QuerySet[Result]:
    """The latest revision of every result of a study, void ones too."""
    newer = Result.objects.filter(supersedes=OuterRef("pk"))
    return Result.objects.filter(specimen__study=study).exclude(Exists(newer))


def counting(study: Study) -> QuerySet[Result]:
    """Results that count: not void, not set aside by the decision on a deviation, and not waiting for one."""
    void = Void.objects.filter(specimen=OuterRef("specimen"))
    aside = DeviationDecision.objects.filter(deviation__result=OuterRef("pk"), counts=False)
    waiting = undecided().filter(result=OuterRef("pk"))
    return latest(study).exclude(Exists(void)).exclude(Exists(aside)).exclude(Exists(waiting))


def undecided() -> QuerySet[Deviation]:
    """Deviations that wait for somebody's decision."""
    return Deviation.objects.filter(decision__isnull=True)


def waits(result: Result) -> bool:
    """Whether a result waits for somebody's decision."""
    return any(getattr(item, "decision", None) is None for item in result.deviations.all())


def withheld(result: Result, *, reader: User) -> bool:
    """Whether the reader is not shown a result's value: whoever may yet decide on it must not know it."""
    told = reader.pk in (result.tested_by_id, result.entered_by_id)  # who may not decide either
    return not told and access.may(reader, "decide a deviation") and waits(result)


def without_values(refusals: Iterable[Refusal], *, reader: User) -> list[Refusal]:
    """Refusals as the reader may see them: of a specimen whose result waits, nothing that tells the value."""
    found = list(refusals)
    if not access.may(reader, "decide a deviation"):
        return found
    waiting = set(undecided().values_list("result__specimen__label", flat=True))
    for refusal in found:
        for label in waiting:
            if label in refusal.tried:
                refusal.tried = f"a value for {label}"
                refusal.answers = [answer | {"why": HIDDEN, "facts": {}} for answer in refusal.answers]
    return found


def limits(study: Study) -> list[tuple[Limit, Decimal]]:
    """The study's limits, each with its value in the unit of the set-up."""
    return [(limit, in_unit(limit, study.setup.unit)) for limit in study.limits.all()]


def in_unit(limit: Limit, unit: str) -> Decimal:
    """A limit's value in a unit: as stated where the unit is the same, converted exactly otherwise."""
    if limit.unit == unit:
        return limit.value
    return Decimal(repr(units.convert(float(limit.value), limit.unit, unit))).quantize(Decimal("0.000000001"))
