"""The gate: every answer to one entry, all at once.

The test destroys the specimen, so the gate does not throw a true measurement away because it is inconvenient.
It refuses what would make the series worthless, marks what is true but limited, and holds what a named person
must decide.
"""

from collections.abc import Iterator
from dataclasses import replace

from .answers import Answer, Kind
from .authorisation import check_authorised
from .calibration import check_equipment
from .check_before_use import check_verified
from .conditions import check_conditions
from .facts import Facts
from .odd_trace import check_trace
from .pull_order import check_drawn, check_order
from .reach import check_reach
from .series import check_rate, check_reduction, check_technique, check_width
from .specimen import check_specimen
from .study import check_open
from .times import check_times
from .unusual_value import check_value_seen
from .value import check_value
from .wording import only


def check(facts: Facts) -> tuple[Answer, ...]:
    """Every answer to an entry; an empty tuple means: kept, with nothing to say.

    Rules that need a set-up are asked once there is one; all others are asked whatever the rest said, so that
    a person mends everything in one go.
    """
    return tuple(_answers(facts))


def noticed(facts: Facts) -> tuple[Answer, ...]:
    """The checks that an entry answers with an extra press, and the notes: what the reviewer looks at."""
    unconfirmed = replace(facts, entry=replace(facts.entry, confirmed=()))
    found = check(unconfirmed)
    return (*only(Kind.CHECK, found), *only(Kind.NOTE, found))


def _answers(facts: Facts) -> Iterator[Answer]:
    entry = facts.entry
    yield from check_open(facts.study)
    yield from check_specimen(facts.specimen, facts.run, sent=entry.value_words)
    if facts.run.closed:
        yield Answer("run-closed", "The run has been closed.")
    if entry.tested_by != facts.run.person:
        yield Answer("not-this-person", f"The run is {facts.run.person}'s; {entry.tested_by} is named as tester.")
    yield from check_times(facts)
    for item in (facts.tester, facts.cell):
        yield from check_equipment(item, on=entry.tested_on)
    yield from check_authorised(
        facts.authorisations,
        person=entry.tested_by,
        technique=entry.technique,
        on=entry.tested_on,
        disuse_months=facts.method.disuse_months if facts.method else 0,
        validation=facts.validation,
    )
    yield from check_drawn(facts.validation)
    yield from check_order(facts.validation, person=entry.tested_by)
    if facts.setup is not None and facts.method is not None:
        yield from _under_setup(facts)


def _under_setup(facts: Facts) -> Iterator[Answer]:
    setup, method, entry = facts.setup, facts.method, facts.entry
    assert setup is not None
    assert method is not None
    yield from check_verified(facts.checks, method=method, tester=facts.tester, cell=facts.cell, on=entry.tested_on)
    yield from check_technique(setup=setup, entry=entry, run=facts.run)
    yield from check_rate(setup=setup, method=method, entry=entry, run=facts.run)
    yield from check_width(setup=setup, entry=entry)
    yield from check_reduction(setup=setup, entry=entry)
    yield from check_value(setup=setup, method=method, entry=entry)
    yield from check_reach(entry=entry, tester=facts.tester, cell=facts.cell, method=method)
    yield from check_conditions(facts, setup=setup, method=method)
    yield from check_trace(setup=setup, entry=entry)
    if facts.specimen.result_words is None:  # a strip that is done takes no value that could be confirmed
        yield from check_value_seen(setup=setup, entry=entry, others=facts.others)
