"""Runs: what is asked before one is opened, and what stands on its page."""

from datetime import datetime

from labrecords.models import Run
from labrecords.rules import facts, run_opening

from . import cell_fit, checks, equipment, lab, people, setups, validation_plans
from .facts import aids, run_facts


def opening_facts(run: Run, moment: datetime) -> run_opening.Opening:
    """The facts of a run that is about to be opened (not yet saved)."""
    study, setup = run.study, run.study.setup
    on = lab.day(moment)
    tester, *others = equipment.all_as_facts([run.tester, *aids(run)], moment, on)
    return run_opening.Opening(
        on=on,
        study=facts.Study(study.code, study.state, study.locked_at is not None),
        setup=setups.as_facts(setup),
        method=setups.method_facts(setup.method_version),
        run=run_facts(run),
        tester=tester,
        cell=cell_fit.facts_with_noise(run.cell, moment, on),
        authorisations=people.authorisations_of(run.person, setup.method_version, before=moment),
        expected_weak_n=setup.expected_weak_n,
        expected_strong_n=setup.expected_strong_n,
        cell_accepted=run.cell_accepted_by_id is not None,
        aids=tuple(others),
        checks=checks.of_the_day(run.tester, run.cell, moment),
        validation=validation_plans.facts_of(study, run.person),
    )
