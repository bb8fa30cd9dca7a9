"""What a validation study gives an uncertainty budget to start from: its spread between strips and between people."""

from collections.abc import Iterator
from statistics import fmean

from django.db.models import QuerySet

from labrecords.models import Study
from labrecords.rules.budget import STANDARD, STATISTICS
from labrecords.stats import components

from . import validations


def decided() -> QuerySet[Study]:
    """Validation studies that were passed, newest first."""
    return Study.objects.filter(validation_decision__passed=True).order_by("-code")


def heading(study: Study) -> dict[str, str]:
    """What the budget speaks of, as far as the study tells."""
    found = _known(validations.read(study))
    setup = study.setup
    level = f"{fmean(strip.value for strip in found):.{setup.decimals}f}" if found else ""
    return {
        "method_version": str(setup.method_version_id),
        "technique": setup.technique,
        "unit": setup.unit,
        "level": level,
    }


def lines(study: Study) -> Iterator[dict[str, str]]:
    """A line between strips of one person and one between people, pooled over no more than one material."""
    strips = _known(validations.read(study))
    cells: dict[tuple[str, str], list[float]] = {}
    for strip in strips:
        cells.setdefault((strip.material, strip.person), []).append(strip.value)
    materials = sorted({material for material, _ in cells})
    for material in materials[:1]:
        yield from _of_material(study, material, {who: row for (of, who), row in cells.items() if of == material})


def _known(found: validations.Validation) -> list[validations.Strip]:
    return [strip for strip in found.strips if strip.person in found.counted and strip.value is not None]


def _of_material(study: Study, material: str, cells: dict[str, list[float]]) -> Iterator[dict[str, str]]:
    try:
        parts = components.one_way_components(cells)
    except ValueError:
        return
    count = sum(len(row) for row in cells.values())
    stated = {"type": STATISTICS, "distribution": "normal", "size_is": STANDARD, "sensitivity": "1"}
    source = f"{study.code}, {material}"
    yield stated | {
        "name": "Repeatability, the strips' own scatter with it",
        "size": f"{parts.within_sd:.5g}",
        "df": str(count - len(cells)),
        "source": source,
    }
    yield stated | {
        "name": "Between people",
        "size": f"{parts.between_sd:.5g}",
        "df": str(len(cells) - 1),
        "source": source,
    }
