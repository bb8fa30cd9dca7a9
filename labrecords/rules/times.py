"""Times that can be."""

from datetime import datetime, timedelta

from .answers import Answer
from .calibration import written
from .facts import Facts

# Clocks of testers and of the server differ a little; the database allows the same.
CLOCK_SLACK = timedelta(minutes=1)


def check_conditioning(*, started_at: datetime, received_at: datetime, now: datetime) -> list[Answer]:
    """Conditioning begins after receipt, and is recorded once it has begun."""
    if started_at > now + CLOCK_SLACK:
        return [Answer("in-the-future", f"Conditioning is said to begin on {_moment(started_at)}, which is to come.")]
    if started_at < received_at:
        why = f"Conditioning is said to begin on {_moment(started_at)}; the lot was received on {_moment(received_at)}."
        return [Answer("before-receipt", why)]
    return []


def check_times(facts: Facts) -> list[Answer]:
    """Tested after receipt, after the run was opened, and not in the future."""
    tested = facts.entry.tested_at
    answers = []
    if tested > facts.now + CLOCK_SLACK:
        answers.append(Answer("in-the-future", f"The time of test is {_moment(tested)}, which is to come."))
    if tested < facts.specimen.received_at:
        received = _moment(facts.specimen.received_at)
        why = f"{facts.specimen.label} was received on {received}, after the time of test."
        answers.append(Answer("before-receipt", why))
    if tested < facts.run.opened_at:
        why = f"The run was opened on {_moment(facts.run.opened_at)}, after the time of test."
        answers.append(Answer("before-run", why))
    return answers


def _moment(moment: datetime) -> str:
    return f"{written(moment)}, {moment:%H:%M}"
