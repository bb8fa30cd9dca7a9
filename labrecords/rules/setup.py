"""Whether a set-up and its plan may be locked: inside the method version, with a plan and limits that can be."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from labrecords.stats import units

from .answers import Answer
from .facts import Method, Setup
from .series import technique_words


@dataclass(frozen=True)
class Limit:
    """A limit as the plan states it."""

    kind: str
    side: str
    value: Decimal
    unit: str


def check_lock(
    *, setup: Setup, method: Method, groups: int, limits: Iterable[Limit], no_conditioning_reason: str
) -> tuple[Answer, ...]:
    """Every reason against locking."""
    return (
        *_technique(setup, method),
        *_rate(setup, method),
        *_width(setup, method),
        *_conditioning(setup, method, no_conditioning_reason),
        *([] if groups else [Answer("plan-empty", "The plan names no group.")]),
        *_limits(tuple(limits)),
    )


def _technique(setup: Setup, method: Method) -> list[Answer]:
    if setup.technique in method.techniques:
        return []
    offered = ", ".join(method.techniques)
    why = f"Technique {technique_words(setup.technique)} is not among those of {method.name}: {offered}."
    return [Answer("technique-outside-method", why, {"said": setup.technique})]


def _rate(setup: Setup, method: Method) -> list[Answer]:
    low, high = {
        "mm/min": (method.rate_low_mm_min, method.rate_high_mm_min),
        "in/min": (method.rate_low_in_min, method.rate_high_in_min),
    }[setup.rate.unit]
    if low <= setup.rate.value <= high:
        return []
    why = f"{setup.rate} is outside {method.name}: {low.normalize():f} to {high.normalize():f} {setup.rate.unit}."
    return [Answer("rate-outside-method", why, {"said": str(setup.rate)})]


def _width(setup: Setup, method: Method) -> list[Answer]:
    if setup.width_mm in method.widths_mm:
        return []
    offered = ", ".join(f"{width.normalize():f}" for width in method.widths_mm)
    why = f"{setup.width_mm.normalize():f} mm is not a width of {method.name}: {offered} mm."
    return [Answer("width-outside-method", why, {"said": str(setup.width_mm)})]


def _conditioning(setup: Setup, method: Method, reason: str) -> list[Answer]:
    if setup.conditioning_hours >= method.conditioning_hours or reason.strip():
        return []
    why = f"The set-up asks for {setup.conditioning_hours:g} h, {method.name} for {method.conditioning_hours:g} h."
    return [Answer("conditioning-unexplained", why)]


def _limits(limits: tuple[Limit, ...]) -> list[Answer]:
    answers = []
    for lower in (limit for limit in limits if limit.side == "lower"):
        for upper in (limit for limit in limits if limit.side == "upper" and limit.kind == lower.kind):
            if units.exact(lower.value, lower.unit, upper.unit) > Fraction(upper.value):
                why = f"At least {lower.value} {lower.unit} and at most {upper.value} {upper.unit}."
                answers.append(Answer("limits-crossed", why, {"kind": lower.kind}))
    return answers
