"""Budgets of the small laboratory."""

from decimal import Decimal

from labrecords.actions import budgets
from labrecords.rules.budget import Line
from tests.world import World


def line(name: str, size: str, **changed) -> Line:
    """A contribution stated as a standard uncertainty, of type B."""
    given = {"type": "B", "distribution": "normal", "size": Decimal(size), "size_is": "standard uncertainty"}
    return Line(name=name, source="invented", **given | changed)


LINES = (line("cell", "0.03"), line("width", "0.04"))


def kept(world: World, lines=LINES, **changed):
    """A budget of Edda's: with the usual lines 0.05 lbf/in at 1.00 lbf/in, twice that expanded."""
    given = {
        "method_version": world.method,
        "technique": "A",
        "level": Decimal("1.00"),
        "unit": "lbf/in",
        "coverage": Decimal("0.9545"),
        "rationale": "Of the strip that was pulled.",
        "by": world.edda,
    }
    return budgets.keep(lines=lines, at=world.at, **given | changed)


def approved(world: World, budget=None, **changed):
    """The same, approved by somebody else."""
    budget = budget or kept(world)
    given = {"approved": True, "words": "Read with the certificates.", "by": world.sefa}
    budgets.decide(budget=budget, at=changed.pop("at", world.at), **given | changed)
    return budget
