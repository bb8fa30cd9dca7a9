"""How many packs answer a question, and the sentence that says so in a plan."""

import math
from dataclasses import dataclass

from labrecords.stats import bound_size, sample_size

ATTRIBUTES, BOUND, MEAN, EQUIVALENCE, VALIDATION = "attributes", "bound", "mean", "equivalence", "validation"
KINDS: dict[str, str] = {
    ATTRIBUTES: "Every pack, or all but a few, passes",
    BOUND: "A tolerance bound clears a limit",
    MEAN: "A mean within a margin",
    EQUIVALENCE: "Two means alike within a margin",
    VALIDATION: "A repeatability known well enough, for a validation",
}


@dataclass(frozen=True)
class Size:
    """How many, of what, and the rationale as it may stand in a plan and is then printed in the report."""

    n: int
    of: str
    words: str


def attributes(*, reliability: float, confidence: float, failures: int) -> Size:
    """Packs that pass or fail.

    >>> attributes(reliability=0.95, confidence=0.95, failures=0).n
    59
    """
    found = sample_size.zero_failure(reliability=reliability, confidence=confidence, failures=failures)
    allowed = "none fails" if failures == 0 else f"at most {failures} fail, a number fixed beforehand"
    return Size(
        found.n,
        "packs",
        f"{found.n} packs: if {allowed}, at least {_percent(reliability)} of the lot pass with {_percent(confidence)} "
        "confidence (exact binomial; each pack passes or fails by itself and was drawn at random).",
    )


def bound(*, distance: float, sd: float, coverage: float, confidence: float, chance: float, unit: str) -> Size:
    """A lower or upper tolerance bound that is to clear a limit."""
    found = bound_size.for_bound(distance=distance, sd=sd, coverage=coverage, confidence=confidence, chance=chance)
    return Size(
        found.n,
        "packs a group",
        f"{found.n} packs a group: with an expected distance of {distance:g} {unit} from mean to limit and a standard "
        f"deviation of {sd:g} {unit}, the bound at {_percent(coverage)} coverage and {_percent(confidence)} confidence "
        f"clears the limit with a chance of {_percent(found.power_achieved)} (normal model).",
    )


def mean(*, sd: float, half_width: float, confidence: float, unit: str) -> Size:
    """A mean whose interval is short enough."""
    found = sample_size.for_mean(sd=sd, half_width=half_width, confidence=confidence)
    return Size(
        found.n,
        "packs",
        f"{found.n} packs: with a standard deviation of {sd:g} {unit} the {_percent(confidence)} interval of the mean "
        f"reaches {found.half_width_achieved:.3g} {unit} to either side; {half_width:g} {unit} is enough.",
    )


def equivalence(
    *, sd: float, margin: float, true_difference: float, confidence: float, chance: float, unit: str
) -> Size:
    """Two means that are to be shown alike."""
    alpha = 1 - confidence
    found = sample_size.for_equivalence(
        sd=sd, margin=margin, true_difference=true_difference, alpha=alpha, power=chance
    )
    return Size(
        found.n,
        "packs in each of the two groups",
        f"{found.n} packs in each of two groups: with a standard deviation of {sd:g} {unit} and means that truly "
        f"differ by {true_difference:g} {unit}, two one-sided tests at {_percent(alpha)} show them alike within "
        f"{margin:g} {unit}, a margin set beforehand, with a chance of {_percent(found.power_achieved)}.",
    )


def validation(*, technicians: int, lots: int, ratio: float, confidence: float) -> Size:
    """Strips that each technician pulls of each lot, so that the repeatability is known within a ratio."""
    found = bound_size.for_sd(ratio=ratio, confidence=confidence)
    cells = technicians * lots
    strips = math.ceil(found.df / cells) + 1
    df = cells * (strips - 1)
    return Size(
        strips,
        "strips of each lot by each technician",
        f"{technicians} technicians pull {strips} strips of each of {lots} lots: {df} degrees of freedom, {found.df} "
        f"are needed so that the true repeatability standard deviation is at most {ratio:g} times the one found, with "
        f"{_percent(confidence)} confidence. A destructive test's repeatability includes the strips' own scatter.",
    )


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"
