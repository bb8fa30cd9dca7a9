"""What is asked when a run is opened, so that a stop at specimen 14 never happens."""

from dataclasses import dataclass
from datetime import date

from .answers import Answer, Kind
from .authorisation import check_authorised
from .calibration import check_equipment
from .cell_fit import check_cell, check_top
from .check_before_use import check_verified
from .conditions import check_aids, check_room
from .facts import Authorisation, Check, Equipment, Method, Run, Setup, Study, Validation
from .pull_order import check_drawn
from .series import compare_rates, compare_techniques
from .study_states import LOCKED, TESTING
from .wording import kind_of


@dataclass(frozen=True)
class Opening:
    """The facts of a run that is about to be opened."""

    on: date
    study: Study
    setup: Setup
    method: Method
    run: Run
    tester: Equipment
    cell: Equipment
    authorisations: tuple[Authorisation, ...]
    expected_weak_n: float
    expected_strong_n: float
    cell_accepted: bool
    aids: tuple[Equipment, ...] = ()
    checks: tuple[Check, ...] = ()
    validation: Validation | None = None


def check(opening: Opening) -> tuple[Answer, ...]:
    """Every answer: stops first, then what would hold every result of the run, then notes."""
    answers: list[Answer] = []
    if not opening.study.locked:
        answers.append(Answer("setup-not-locked", f"The set-up of {opening.study.code} is not locked."))
    elif opening.study.state not in (LOCKED, TESTING):
        answers.append(Answer("study-not-open", f"{opening.study.code} is {opening.study.state}."))
    answers += compare_techniques({"The run": opening.run.technique}, setup=opening.setup)
    answers += compare_rates({"The run": opening.run.rate}, setup=opening.setup)
    for item in (opening.tester, opening.cell):
        answers += check_equipment(item, on=opening.on)
        answers += check_top(item, strong_n=opening.expected_strong_n, accepted=opening.cell_accepted)
    answers += check_authorised(
        opening.authorisations,
        person=opening.run.person,
        technique=opening.setup.technique,
        on=opening.on,
        disuse_months=opening.method.disuse_months,
        validation=opening.validation,
    )
    answers += check_drawn(opening.validation)
    answers += check_verified(
        opening.checks, method=opening.method, tester=opening.tester, cell=opening.cell, on=opening.on
    )
    answers += check_cell(
        opening.cell,
        weak_n=opening.expected_weak_n,
        strong_n=opening.expected_strong_n,
        noise_share=opening.method.noise_share,
        accepted=opening.cell_accepted,
    )
    answers += check_room(opening.run, opening.method)
    answers += check_aids(opening.aids, on=opening.on)
    return tuple(sorted(answers, key=lambda answer: list(Kind).index(kind_of(answer.code))))
