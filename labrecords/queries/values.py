"""The results of a study: which count, which are void, and as what they count."""

from decimal import Decimal

from django.db.models import Exists, OuterRef, QuerySet

from labrecords.models import DeviationDecision, Limit, Result, Study, User, Void
from labrecords.stats import units

from . import access


def latest(study: Study) -> QuerySet[Result]:
    """The latest revision of every result of a study, void ones too."""
    newer = Result.objects.filter(supersedes=OuterRef("pk"))
    return Result.objects.filter(specimen__study=study).exclude(Exists(newer))


def counting(study: Study) -> QuerySet[Result]:
    """Results that count: not void, and not set aside by the decision on a deviation."""
    void = Void.objects.filter(specimen=OuterRef("specimen"))
    aside = DeviationDecision.objects.filter(deviation__result=OuterRef("pk"), counts=False)
    return latest(study).exclude(Exists(void)).exclude(Exists(aside))


def waits(result: Result) -> bool:
    """Whether a result waits for somebody's decision."""
    return any(getattr(item, "decision", None) is None for item in result.deviations.all())


def withheld(result: Result, *, reader: User) -> bool:
    """Whether the reader is not shown a result's value: whoever may yet decide on it must not know it."""
    told = reader.pk in (result.tested_by_id, result.entered_by_id)  # who may not decide either
    return not told and access.may(reader, "decide a deviation") and waits(result)


def limits(study: Study) -> list[tuple[Limit, Decimal]]:
    """The study's limits, each with its value in the unit of the set-up."""
    return [(limit, in_unit(limit, study.setup.unit)) for limit in study.limits.all()]


def in_unit(limit: Limit, unit: str) -> Decimal:
    """A limit's value in a unit: as stated where the unit is the same, converted exactly otherwise."""
    if limit.unit == unit:
        return limit.value
    return Decimal(repr(units.convert(float(limit.value), limit.unit, unit))).quantize(Decimal("0.000000001"))
