"""A window study of the small laboratory: low, nominal and high, each a lot of its own."""

from decimal import Decimal

from labrecords.actions import limits, windows
from labrecords.models import SealingSetting, Study
from tests import loaded
from tests import world as lab
from tests.world import LIMITS, World

SETTINGS = {"low": "118", "nominal": "124", "high": "130", "over": "142"}
# invented
STRENGTHS = {
    "low": ["1.31", "1.36", "1.33", "1.29", "1.35", "1.30", "1.34", "1.32"],
    "nominal": ["1.52", "1.61", "1.48", "1.56", "1.55", "1.50", "1.58", "1.53"],
    "high": ["1.70", "1.74", "1.67", "1.72", "1.69", "1.76", "1.71", "1.73"],
}


def group(lot: str, packs: int, **changed) -> dict:
    """A group of the plan."""
    return {"lot": lot, "arm": "as made", "position": "side", "packs": packs, "specimens_per_pack": 1} | changed


def setting(lot: str, **changed) -> dict:
    """How a lot was sealed; the lots are called as the settings are."""
    kind = lot if lot in ("low", "nominal", "high") else "corner"
    given = {"lot": lot, "kind": kind, "label": lot, "temperature": Decimal(SETTINGS[lot]), "temperature_unit": "°C"}
    return given | {"dwell_s": Decimal("1.2"), "pressure": Decimal("4"), "pressure_unit": "bar"} | changed


def window(lots, *, openings: bool = False, sealer: str = "bar sealer 2") -> dict:
    """The window's part of a plan."""
    return {"sealer": sealer, "openings": openings, "settings": [setting(lot) for lot in lots]}


def made(
    world: World, strengths=STRENGTHS, *, openings=False, limits=tuple(LIMITS), sealer="bar sealer 2", **changed
) -> Study:
    """A window study with these strengths, its testing still open."""
    groups = [group(lot, len(row)) for lot, row in strengths.items()]
    sealed = window(strengths, openings=openings, sealer=sealer)
    study = loaded.planned(world, groups, window=sealed, limits=limits, **changed)
    loaded.received(world, study, list(strengths))
    loaded.entered(world, study, strengths)
    return Study.objects.get(pk=study.pk)


def accepted() -> tuple[World, Study]:
    """The small laboratory, with a window study of which the results are accepted."""
    world = lab.build()
    return world, loaded.accepted(world, made(world))


SEEN = "Twenty packs looked at, report V-12."


def seen(world: World, study: Study, lot: str, kind: str, *, passed: bool = True, words: str = SEEN):
    """Evidence of one setting."""
    return windows.keep_evidence(
        setting=SealingSetting.objects.get(window__study=study, lot=lot),
        kind=kind,
        passed=passed,
        words=words,
        by=world.edda,
        at=world.at,
    )


def proposed(world: World, study: Study, **changed):
    """A lower process limit with a margin of 5 %."""
    given = {"side": "lower", "margin_percent": Decimal(5), "rationale": "All three settings hold in use."}
    return limits.propose(study=study, at=world.at, **{"by": world.edda} | given | changed)


def approved(world: World, limit, **changed):
    """The second person's approval."""
    given = {"approved": True, "words": "Read with the traces.", "by": world.sefa}
    return limits.decide(limit=limit, at=world.at, **given | changed)
