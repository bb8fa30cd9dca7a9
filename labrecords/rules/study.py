"""Whether a study stands where results may be kept."""

from .answers import Answer
from .facts import Study
from .study_states import TESTING


def check_open(study: Study) -> list[Answer]:
    """A study needs a locked set-up and must be in testing."""
    if not study.locked:
        why = f"The set-up of {study.code} is not locked."
        return [Answer("setup-not-locked", why, {"study": study.code})]
    if study.state != TESTING:
        why = f"{study.code} is {study.state}."
        return [Answer("study-not-open", why, {"study": study.code, "state": study.state})]
    return []
