"""Sample sizes against tables, R and mpmath."""

from collections.abc import Iterator
from functools import partial

from labrecords.stats import sample_size
from tests.reference import tables
from tests.reference.case import Case

# Smallest n of a run by reliability; columns: confidence 0.80 with no failure, then 0.90, 0.95 and 0.99 with 0 to 3.
RUNS = {
    0.80: "8 11/18/25/32 14/22/30/37 21/31/39/47",
    0.85: "10 15/25/34/43 19/30/40/50 29/42/53/64",
    0.90: "16 22/38/52/65 29/46/61/76 44/64/81/97",
    0.95: "32 45/77/105/132 59/93/124/153 90/130/165/198",
    0.97: "53 76/129/176/221 99/157/208/257 152/219/277/332",
    0.99: "161 230/388/531/667 299/473/628/773 459/662/838/1001",
    0.995: "322 460/777/1063/1335 598/947/1258/1549 919/1325/1678/2006",
    0.999: "1609 2302/3889/5321/6679 2995/4742/6294/7752 4603/6636/8403/10042",
}
CALLS = {  # kind in r_sample_size.csv: the call that its columns a, b, c, d belong to
    "zero_failure": lambda reliability, confidence, failures: sample_size.zero_failure(
        reliability=reliability, confidence=confidence, failures=int(failures)
    ),
    "for_two_means": lambda difference, alpha, power, sides: sample_size.for_two_means(
        sd=1, difference=difference, alpha=alpha, power=power, sides=int(sides)
    ),
    "for_equivalence": lambda margin, truth, alpha, power: sample_size.for_equivalence(
        sd=1, margin=margin, true_difference=truth, alpha=alpha, power=power
    ),
    "for_mean": lambda half_width, confidence: sample_size.for_mean(sd=1, half_width=half_width, confidence=confidence),
    "for_factor": lambda coverage, confidence, factor: sample_size.for_factor(
        coverage=coverage, confidence=confidence, factor=factor
    ),
    "two_sided_order_statistics": lambda coverage, confidence: sample_size.two_sided_order_statistics(
        coverage=coverage, confidence=confidence
    ),
}
ACHIEVED = {"confidence": "confidence_achieved", "power": "power_achieved", "half-width": "half_width_achieved"}


def every_case() -> Iterator[Case]:
    """Numbers that outside sources know."""
    yield from _runs()
    yield from _published()
    yield from _r()
    yield from _mpmath()


def _runs() -> Iterator[Case]:
    for reliability, line in RUNS.items():
        for confidence, cell in zip((0.80, 0.90, 0.95, 0.99), line.split(), strict=True):
            for failures, printed in enumerate(cell.split("/")):
                source = "the usual table, from memory" if printed in ("59", "299") else "computed from the definition"
                call = partial(CALLS["zero_failure"], reliability, confidence, failures)
                yield Case("sample_size.zero_failure", source, printed, partial(_n, call))


def _published() -> Iterator[Case]:
    source = "tables by Wilks's formula, from memory"
    for coverage, confidence, printed in ((0.90, 0.95, "46"), (0.95, 0.95, "93"), (0.99, 0.95, "473")):
        call = partial(CALLS["two_sided_order_statistics"], coverage, confidence)
        yield Case("sample_size.two_sided_order_statistics", source, printed, partial(_n, call))
    # Cohen's table for effects of 0.2, 0.5 and 0.8: 393, 64 and 26 in each group for 80 % power at 5 %, two-sided.
    for effect, printed in ((0.2, "394"), (0.5, "64"), (0.8, "26")):
        call = partial(CALLS["for_two_means"], effect, 0.05, 0.80, 2)
        yield Case(
            "sample_size.for_two_means", "exact versions of Cohen's table, from memory", printed, partial(_n, call)
        )


def _r() -> Iterator[Case]:
    _, *body = tables.rows("r_sample_size.csv")
    for kind, *cells in body:
        arguments, value = [float(cell) for cell in cells[:-1] if cell], cells[-1]
        name, _, achieved = kind.partition(" ")
        if name == "reliability_bound":
            n, failures, confidence = arguments
            bound = partial(sample_size.reliability_bound, int(n), int(failures), confidence=confidence)
            yield Case("sample_size.reliability_bound", "R 4.2.2 qbeta", float(value), bound, 11.0)
        elif achieved:
            call = partial(_attribute, partial(CALLS[name], *arguments), ACHIEVED[achieved])
            yield Case(f"sample_size.{name}", "R 4.2.2", float(value), call, 10.0)
        else:
            yield Case(
                f"sample_size.{name}", "R 4.2.2, n by trial", value, partial(_n, partial(CALLS[name], *arguments))
            )


def _mpmath() -> Iterator[Case]:
    """The power at a given n, asked for as that of a plan: it needs just that n."""
    _, *body = tables.rows("mp_plans.csv")
    for kind, a, b, c, d, e, value in body:
        if kind == "power":
            plan = {"sd": float(a), "difference": float(b), "alpha": float(c), "sides": int(e)}
            yield from _plan("for_two_means", partial(sample_size.for_two_means, **plan, power=float(value)), d, value)
        elif kind == "equivalence":
            plan = {"sd": float(a), "margin": float(b), "true_difference": float(c), "alpha": float(d)}
            yield from _plan(
                "for_equivalence", partial(sample_size.for_equivalence, **plan, power=float(value)), e, value
            )


def _plan(name: str, call, n: str, value: str) -> Iterator[Case]:
    source = "mpmath, 32 digits"
    yield Case(f"sample_size.{name}", source, float(value), partial(_attribute, call, "power_achieved"), 12.0)
    yield Case(f"sample_size.{name}", f"{source}, n", n, partial(_n, call))


def _n(call) -> float:
    return float(int(call()))


def _attribute(call, name: str) -> float:
    return getattr(call(), name)
