"""Where a refusal at the bench leads on: the pages on which whoever stands there may settle it, likeliest first."""

from collections.abc import Callable
from urllib.parse import urlencode

from django.urls import reverse

from labrecords.rules.answers import Answer

EQUIPMENT = {"not-calibrated", "calibration-overdue", "calibration-failed", "out-of-service"}
PERSON = {"not-authorised", "not-this-person"}
SPECIMEN = {"specimen-done", "specimen-void", "specimen-elsewhere"}
UNCHECKED = "not-verified-today"
OTHER_EQUIPMENT = "Go on with other equipment"

Way = dict[str, str]


def from_entry(run, label: str) -> Callable[[Answer], list[Way]]:
    """The ways on from a refused entry, with its specimen still in hand."""

    def ways(answer: Answer) -> list[Way]:
        if answer.code == UNCHECKED:
            checks = reverse("cell-checks", args=[run.cell.label])
            return [_way("Take the check", checks), _way(OTHER_EQUIPMENT, _another_run(run, label))]
        if answer.code in EQUIPMENT:
            return [_way(OTHER_EQUIPMENT, _another_run(run, label))]
        if answer.code == "run-closed":
            return [_way("Open another run", _another_run(run, label))]
        if answer.code in PERSON:
            return [_way("Change person", _another_person(run, label))]
        if answer.code in SPECIMEN:
            return [_way(f"See {label}", reverse("specimen", args=[label]))]
        return []

    return ways


def _another_run(run, label: str) -> str:
    return f"{reverse('open-run', args=[run.study.code])}?{urlencode({'from': run.pk, 'specimen': label})}"


def _another_person(run, label: str) -> str:
    here = f"{reverse('run', args=[run.pk])}?{urlencode({'specimen': label})}"
    return f"{reverse('who')}?{urlencode({'next': here})}"


def from_opening(form, names: tuple[str, ...]) -> Callable[[Answer], list[Way]]:
    """The ways on from a run that was not opened: to the field in which the equipment was chosen that stops it."""

    def ways(answer: Answer) -> list[Way]:
        stopped = answer.facts.get("item") if answer.code in EQUIPMENT else None
        fields = [form[name] for name in names if name in form.fields and stopped == form[name].value()]
        return [_way(f"Choose another {field.label.lower()}", f"#{field.id_for_label}") for field in fields]

    return ways


def _way(label: str, url: str) -> Way:
    return {"label": label, "url": url}
