"""A validation study as it is printed: each person's standing, each criterion's verdict, and what comes of both."""

from typing import Any

from labrecords.charts import agreement as chart
from labrecords.charts.figure import Figure
from labrecords.models import Study
from labrecords.queries.validations import PersonStanding, Validation
from labrecords.rules import agreement
from labrecords.rules.validation_plan import AT_LEAST, KINDS

from .digits import fixed, signed

STATES = {
    agreement.AGREES: ("ok", "Agrees"),
    agreement.HIGH: ("due", "Reads high"),
    agreement.LOW: ("due", "Reads low"),
    agreement.NOT_SHOWN: ("wait", "Not shown to agree"),
    "of the group": ("idle", "Of the group"),
}
VERBS = {
    agreement.HIGH: "reads high",
    agreement.LOW: "reads low",
    agreement.NOT_SHOWN: "is not shown to agree",
}
VERDICTS = {True: ("ok", "Met"), False: ("due", "Not met"), None: ("wait", "Cannot be judged")}


def person_words(found: Validation, one: PersonStanding) -> dict[str, Any]:
    """One person: standing, and the comparison for each material."""
    kind, word = STATES[one.verdict]
    standing = one.standing
    return {
        "name": one.name,
        "strips": one.strips,
        "joins": one.joins,
        "kind": kind,
        "word": word,
        "rows": [_held_words(found.study, row) for row in standing.held] if standing else [],
        "said": _apart(standing),
    }


def _held_words(study: Study, row: agreement.Held) -> dict[str, str]:
    more = study.setup.decimals + 1
    if row.difference is None:
        return {"material": row.material, "difference": "not known", "low": "", "high": "", "how": _why(row.why_not)}
    return {
        "material": row.material,
        "difference": signed(row.difference, more),
        "low": signed(row.low, more),
        "high": signed(row.high, more),
        "how": row.how,
    }


def _apart(standing: agreement.Standing | None) -> str:
    if standing is None or standing.apart is None:
        return ""
    return f"Set apart in step {standing.apart}, and shown against those who are not."


def _why(sentence: str) -> str:
    return f"{sentence[:1].upper()}{sentence[1:].rstrip('.')}."


def criteria_words(found: Validation) -> list[dict[str, Any]]:
    """Each criterion for each material, with its verdict."""
    return [
        {
            "label": KINDS[row.kind],
            "asked": f"{'at least' if row.kind in AT_LEAST else 'at most'} {row.percent.normalize():f} %",
            "rows": [_met_words(one) for one in rows],
        }
        for row, rows in found.criteria
    ]


def _met_words(one: agreement.Met) -> dict[str, str]:
    kind, word = VERDICTS[one.met]
    value = "not known" if one.percent is None else f"{fixed(one.percent, 1)} %"
    return {
        "material": one.material,
        "value": value,
        "kind": kind,
        "word": word,
        "why": one.why_not and _why(one.why_not),
    }


def conclusion(found: Validation) -> dict[str, str]:
    """What the study shows, in a sentence that a manager can act on."""
    kind, word = {True: ("ok", "Shown"), False: ("due", "Not shown"), None: ("wait", "Open")}[found.passed]
    return {"kind": kind, "word": word, "said": f"{found.why} {_who(found)}".strip()}


def _who(found: Validation) -> str:
    judged = [one for one in found.people if one.standing]
    out = [f"{one.name} ({one.verdict})" for one in judged if one.verdict != agreement.AGREES]
    agree = [one.name for one in found.agreeing]
    said = f"Within the margin: {', '.join(agree)}." if agree else "Nobody is within the margin."
    return f"{said} Not: {', '.join(out)}." if out else said


def finding(found: Validation) -> str:
    """The figure's title."""
    judged = [one for one in found.people if one.standing]
    out = [one for one in judged if one.verdict != agreement.AGREES]
    if not out:
        return "Everybody lies within the margin."
    said = " and ".join(f"{one.name} {VERBS[one.verdict]}" for one in out)
    return f"{said}; the others lie within the margin." if len(out) < len(judged) else f"{said}."


def figure(found: Validation) -> Figure | None:
    """Each person against the others; None while there is nothing to draw."""
    rows = [
        chart.Difference(one.name, row.material, row.difference, row.low, row.high)
        for one in found.people
        for row in (one.standing.held if one.standing else ())
        if row.difference is not None
    ]
    if not rows:
        return None
    setup = found.study.setup
    return chart.agreement(
        rows, margin=float(found.plan.margin), unit=setup.unit, decimals=setup.decimals + 1, said=finding(found)
    )
