"""The results of a study: which count, which are void, and as what they count."""

from decimal import Decimal

from django.db.models import Exists, OuterRef, QuerySet

from labrecords.models import DeviationDecision, Limit, Result, Study, Void
from labrecords.stats import units


def latest(study: Study) -> QuerySet[Result]:
    """The latest revision of every result of a study, void ones too."""
    newer = Result.objects.filter(supersedes=OuterRef("pk"))
    return Result.objects.filter(specimen__study=study).exclude(Exists(newer))


def counting(study: Study) -> QuerySet[Result]:
    """Results that count: not void, and not set aside by the decision on a deviation."""
    void = Void.objects.filter(specimen=OuterRef("specimen"))
    aside = DeviationDecision.objects.filter(deviation__result=OuterRef("pk"), counts=False)
    return latest(study).exclude(Exists(void)).exclude(Exists(aside))


def lower_limits(study: Study) -> list[Decimal]:
    """The study's lower limits in the unit of its set-up."""
    limits = [limit for limit in study.limits.all() if limit.side == "lower"]
    return [in_unit(limit, study.setup.unit) for limit in limits]


def in_unit(limit: Limit, unit: str) -> Decimal:
    """A limit's value in a unit: as stated where the unit is the same, converted exactly otherwise."""
    if limit.unit == unit:
        return limit.value
    return Decimal(repr(units.convert(float(limit.value), limit.unit, unit))).quantize(Decimal("0.000000001"))
