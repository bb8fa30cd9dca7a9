"""What a report says in plain words: the answer first, then what it does not say."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

from labrecords.charts.words import counted
from labrecords.models import Limit, Study
from labrecords.queries.numbers import GroupNumbers, Line, Verdict
from labrecords.rules import bound_rule, decision
from labrecords.rules.series import technique_words

from .budget_words import guard_words
from .digits import beside
from .printed import lower_words, upper_words

CAUTIONS = (
    "Seal strength is not seal integrity. A strong seal can have a channel, a pinhole or a wrinkle, and a weak one "
    "can be tight: these results do not show that a package keeps its contents sterile.",
    "A strip samples some millimetres of a seal. The results speak for the places that were sampled.",
    "Forces taken with another holding technique, at another rate or over another width cannot be compared with "
    "these, and no factor converts one into the other.",
)
STATEMENTS = (
    "The results relate only to the items tested, as received.",
    "This report is not to be reproduced except in full without the laboratory's written approval.",
    "What the client stated is marked so; the laboratory does not answer for it.",
    "No result comes from an external provider.",
    "Values are compared with limits as recorded, unrounded; they are printed rounded.",
)


def limit_words(limit: Limit) -> str:
    """A limit as it reads in a sentence: at least 1 lbf/in."""
    return f"{limit.get_side_display()} {limit.value.normalize():f} {limit.unit}"


def origin_words(limit: Limit, *, for_client: bool) -> str:
    """Where a limit comes from. A client reads of an unknown origin what it means."""
    if limit.origin == "unknown":
        return (
            "limit supplied by the client, its basis not assessed"
            if for_client
            else "of unknown origin: nothing on record says why this number and no other"
        )
    return f"{limit.get_origin_display()}: {limit.origin_words}"


def decision_words(study: Study) -> str:
    """The decision rule and what the tolerance bounds rest on, in full."""
    words = (decision.RULES[study.decision_rule], guard_words(study), bound_rule.RULES[study.bound_rule])
    return " ".join(filter(None, words))


def summary(study: Study, groups: Sequence[GroupNumbers], first_day: str, last_day: str) -> list[str]:
    """Two to six sentences: what was tested, what came out, whether it meets what was asked."""
    return [
        *_tested(study, groups, first_day, last_day),
        *_weakest(study, groups),
        *_met(groups),
        *_bound(study, groups),
        *_upper_bound(study, groups),
    ]


def _tested(study: Study, groups, first_day: str, last_day: str) -> Iterator[str]:
    tested = sum(group.n for group in groups)
    lots = ", ".join(sorted({group.group.lot for group in groups if group.n})) or "no lot"
    days = f"on {first_day}" if first_day == last_day else f"between {first_day} and {last_day}"
    setup = study.setup
    yield (
        f"{counted(tested, 'specimen')} of {lots} {'was' if tested == 1 else 'were'} tested {days} "
        f"by method {setup.method_version.method.code}, "
        f"technique {technique_words(setup.technique)}, at {setup.rate.normalize():f} {setup.rate_unit}."
    )
    missing = sum(max(0, group.group.planned - group.n) for group in groups)
    if missing:
        why = f" The reason on record: {study.fewer_reason}" if study.fewer_reason else ""
        planned = sum(group.group.planned for group in groups)
        have = "has" if missing == 1 else "have"
        yield f"{planned} {'was' if planned == 1 else 'were'} planned; {missing} {have} no result that counts.{why}"
    void = sum(group.void for group in groups)
    if void:
        yield f"{void} more {'is' if void == 1 else 'are'} void, for the causes listed."
    aside = sum(line.set_aside and not line.void for group in groups for line in group.lines)
    if aside:
        yield f"{aside} more {'is' if aside == 1 else 'are'} set aside by decision, for the reasons listed."


def _weakest(study: Study, groups) -> Iterator[str]:
    lines = [line for group in groups for line in group.lines if line.counts]
    opened = [line for line in lines if "opened-before-test" in line.result.marks]
    if opened:
        yield f"{len(opened)} had opened before the test: {_labels(opened)}."
    too_weak = [line for line in lines if "below-verified" in line.result.marks]
    if too_weak:
        yield f"{_were(too_weak)} weaker than the equipment is verified to measure: {_labels(too_weak)}."
    too_strong = [line for line in lines if line.result.censored == "above"]
    if too_strong:
        yield f"{_were(too_strong)} stronger than the equipment is verified to measure: {_labels(too_strong)}."
    known = [line for line in lines if line.strength is not None]
    if known:
        weakest = min(known, key=lambda line: line.strength)
        value = beside(weakest.strength, study.setup.decimals, [made.value for made in groups[0].verdicts])
        word = "The weakest measured" if opened or too_weak else "The weakest"
        yield f"{word} was {value} {study.setup.unit} ({weakest.specimen.label}, {weakest.specimen.group})."


def _were(lines: Sequence[Line]) -> str:
    return f"{len(lines)} {'was' if len(lines) == 1 else 'were'}"


def _labels(lines: Sequence[Line]) -> str:
    return ", ".join(line.specimen.label for line in lines)


def _met(groups: Sequence[GroupNumbers]) -> Iterator[str]:
    for number in range(len(groups[0].verdicts) if groups else 0):
        yield _verdict([group.verdicts[number] for group in groups], sum(group.n for group in groups), groups)


def _verdict(verdicts: Sequence[Verdict], n: int, groups: Sequence[GroupNumbers]) -> str:
    limit = verdicts[0].limit
    asked = f"The {limit.get_kind_display()} is {limit_words(limit)}."
    outside = sum(verdict.outside for verdict in verdicts)
    if all(verdict.met for verdict in verdicts):
        unjudged = sum(verdict.unjudged for verdict in verdicts)
        rest = f", and {unjudged} could not be measured well enough to say" if unjudged else ""
        return (
            f"{asked} By the decision rule below, all groups meet it; {n - outside - unjudged} of {n} values do{rest}."
        )
    failing = [str(group.group) for group, verdict in zip(groups, verdicts, strict=True) if verdict.met is False]
    undecided = [str(group.group) for group, verdict in zip(groups, verdicts, strict=True) if verdict.met is None]
    said = [f"{outside} of {n} values {'does' if outside == 1 else 'do'} not meet it."]
    if verdicts[0].accepted is not None:
        short = sum(verdict.short for verdict in verdicts)
        said.append(
            f"{short} of {n} {'does' if short == 1 else 'do'} not clear the acceptance limit of the guarded rule."
        )
    if failing:
        said.append(f"These groups do not meet it: {'; '.join(failing)}.")
    if undecided:
        said.append(f"These cannot be decided: {'; '.join(undecided)}.")
    return " ".join([asked, *said])


def _bound(study: Study, groups: Sequence[GroupNumbers]) -> Iterator[str]:
    bounded = [group for group in groups if group.bound.value is not None]
    without = [str(group.group) for group in groups if group.bound.value is None]
    if bounded:
        lowest = min(bounded, key=lambda group: group.bound.value)
        which = "" if without or len(bounded) == 1 else ", the lowest group,"
        value = lower_words(lowest, study.setup.decimals)
        yield _promise(study, f"{lowest.group}{which}", f"stronger than {value}")
        doubted = [str(group.group) for group in bounded if group.doubtful]
        if doubted:
            yield f"That rests on a normal model, which the values of {'; '.join(doubted)} do not look like."
    if without:
        yield f"No such bound can be given for {'; '.join(without)}."


def _upper_bound(study: Study, groups: Sequence[GroupNumbers]) -> Iterator[str]:
    bounded = [group for group in groups if group.upper_bound is not None and group.upper_bound.value is not None]
    if bounded:
        highest = max(bounded, key=lambda group: group.upper_bound.value)
        which = "" if len(bounded) == 1 else ", the highest group,"
        value = upper_words(highest, study.setup.decimals)
        yield _promise(study, f"{highest.group}{which}", f"weaker than {value}")


def _promise(study: Study, which: str, what: str) -> str:
    return (
        f"If these packs represent the lots they came from, we are {_percent(study.confidence)} confident that at "
        f"least {_percent(study.coverage)} of the seals of {which} are {what} {study.setup.unit}."
    )


def claim_words(study: Study) -> str:
    """What the tolerance bounds promise."""
    return f"{_percent(study.coverage)} coverage at {_percent(study.confidence)} confidence"


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"
