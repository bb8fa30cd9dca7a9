"""What changed between two groups of results, in words and as a figure."""

from itertools import pairwise

from labrecords.charts.figure import Figure
from labrecords.charts.run_chart import Event, Pull, run_chart
from labrecords.models import Study
from labrecords.queries.changes import EVENTS, Changes, Explained
from labrecords.rules import what_changed

from .digits import fixed, signed
from .window_words import probability


def sentence(study: Study, found: Changes) -> str:
    """The finding: how far apart the groups are, and what changed with it."""
    if found.means is None:
        return found.why_not or "The two groups cannot be compared."
    more, interval = study.setup.decimals + 1, found.means.interval
    low, high = signed(interval.low, more), signed(interval.high, more)
    apart = f"95 % interval {low} to {high} {study.setup.unit}"
    if interval.low <= 0 <= interval.high:
        return f"No difference of the means is shown ({apart}), which does not show that there is none."
    word = "higher" if found.means.difference > 0 else "lower"
    size = fixed(abs(found.means.difference), more)
    said = what_changed.said(found.ranked)
    return f"The second mean is {size} {study.setup.unit} {word} than the first ({apart}). {said}"


def spread_sentence(found: Changes) -> str:
    """Whether the scatter changed."""
    ratio = found.spreads
    if ratio is None:
        return ""
    ends = f"95 % interval {fixed(ratio.interval.low, 2)} to {fixed(ratio.interval.high, 2)}"
    said = "differs" if ratio.interval.low > 1 or ratio.interval.high < 1 else "is not shown to differ"
    return (
        f"The scatter {said}: the second variance is {fixed(ratio.ratio, 2)} times the first ({ends}, normal values)."
    )


def shift_sentence(found: Changes) -> str:
    """How sure the page is of a shift that it found itself."""
    if found.shift is None:
        return ""
    p, moved = found.shift.p_value, found.second.index(True) - found.shift.place
    if p >= what_changed.DOUBT:
        return (
            f"A shift this large is no rarity in results without one ({probability(p)}): do not hunt for a cause yet."
        )
    where = "The place is the most likely one"
    if moved:
        away = f"{abs(moved)} {'result' if abs(moved) == 1 else 'results'} {'later' if moved > 0 else 'earlier'}"
        where = (
            f"The place is where something on record changed, {away} than the most likely one, and fits nearly as well"
        )
    return (
        f"Results without a shift seldom show one this large ({probability(p)}). {where}; it was looked for in these "
        "data, so the interval of the difference is a little too narrow."
    )


def explained_words(row: Explained) -> dict[str, str]:
    """One factor's share of the variance."""
    if row.found is None:
        return {"label": row.label, "levels": str(row.levels), "share": "cannot be said", "raw": "", "p": ""}
    share = f"{100 * row.share:.0f} %"
    raw = f"{100 * row.found.r_squared:.1f} %"
    found = {"share": share, "raw": raw, "p": probability(row.found.p_value)}
    return {"label": row.label, "levels": str(row.levels)} | found


def figure(study: Study, found: Changes) -> Figure | None:
    """Results in their order, with what changed marked."""
    if not found.rows:
        return None
    return run_chart(
        [
            Pull(row.label, row.value, side, row.factors["Day"])
            for row, side in zip(found.rows, found.second, strict=True)
        ],
        names=found.names,
        unit=study.setup.unit,
        decimals=study.setup.decimals,
        said=_title(study, found),
        events=_events(found),
    )


def _title(study: Study, found: Changes) -> str:
    if found.means is None:
        return f"{len(found.rows)} results in the order of testing."
    word = "higher" if found.means.difference > 0 else "lower"
    size = fixed(abs(found.means.difference), study.setup.decimals + 1)
    return f"The second group is {size} {study.setup.unit} {word} than the first."


def _events(found: Changes) -> list[Event]:
    made = []
    for place, (before, after) in enumerate(pairwise(found.rows), start=1):
        moved = [label.lower() for label in EVENTS if before.factors[label] != after.factors[label]]
        if moved:
            made.append(Event(place, ", ".join(moved)))
    return made
