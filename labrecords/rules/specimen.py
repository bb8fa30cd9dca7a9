"""Whether a specimen is there to be tested: of this study, in the plan, not void, not done."""

from .answers import Answer
from .facts import Run, Specimen


def check_specimen(specimen: Specimen, run: Run, *, sent: str) -> list[Answer]:
    """All that is wrong with testing this specimen in this run; `sent` is the value that was sent for it, in words."""
    label = specimen.label
    answers = []
    if specimen.study_code != run.study_code:
        why = f"{label} is in {specimen.study_code}. You are in {run.study_code}."
        answers.append(Answer("specimen-elsewhere", why, {"specimen": label, "study": specimen.study_code}))
    if not specimen.in_plan:
        answers.append(Answer("not-in-plan", f"{label} is in no group of the plan.", {"specimen": label}))
    if specimen.void:
        answers.append(Answer("specimen-void", f"{label} is void.", {"specimen": label}))
    if specimen.result_words:
        why = f"{label} has {specimen.result_words}. This entry, which is not kept, says {sent}."
        told = {"specimen": label, "result": specimen.result_words, "sent": sent}
        answers.append(Answer("specimen-done", why, told))
    return answers
