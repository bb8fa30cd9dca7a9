"""What a scanned or typed label means at the bench, whatever had the focus."""

from dataclasses import dataclass

from django.http import HttpRequest, JsonResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from labrecords.queries import access, bench, studies, values
from labrecords.rules import labels
from labrecords.web import needs

WANTED = "Wanted here is a specimen of this study."


@dataclass(frozen=True)
class Told:
    """What a label led to: ok (a specimen that waits), check (one that was tested, or void) or stop; and the words."""

    verdict: str
    words: str
    specimen: object = None

    @property
    def waits(self) -> bool:
        return self.verdict == "ok"


def meaning(run, text: str, *, reader) -> Told:
    """What the label means in this run."""
    try:
        label = labels.parse(text)
    except labels.LabelProblem as problem:
        return Told("stop", str(problem))
    if label.kind != "SP":
        return Told("stop", f"That is the label of a {labels.KINDS[label.kind]}, {_named(label)}. {_of(run)}{WANTED}")
    specimen = bench.find(label.text)
    if specimen is None:
        return Told("stop", f"{label} is not the label of a specimen here. {WANTED}")
    if specimen.study_id != run.study_id:
        return Told("stop", f"{label} belongs to {specimen.study.code}. You are in {run.study.code}.", specimen)
    if hasattr(specimen, "void"):
        return Told("check", f"{label} is void: {specimen.void.words}", specimen)
    result = bench.standing(specimen)
    if result is not None:
        return Told("check", _done(result, specimen, reader), specimen)
    return Told("ok", f"{label} is next.", specimen)


def _named(label: labels.Label) -> str:
    try:
        return f"{studies.equipment(label.text).name} ({label})"
    except access.NotFound:
        return label.text


def _of(run) -> str:
    return f"The run has {run.tester.name} with {run.cell.name}. "


def _done(result, specimen, reader) -> str:
    at = timezone.localtime(result.at)
    value = f"{result.recorded} {result.recorded_unit}".strip() or "opened before the test"
    if values.withheld(result, reader=reader):
        value = "a result that waits for a decision"
    return f"Already recorded: {specimen.label} has {value}, kept {at:%d %b %Y, %H:%M} by {result.entered_by.name}."


@require_safe
@needs("open a run")
def label(request: HttpRequest, run_id) -> JsonResponse:
    """Answer a scan: the verdict, its words, and where to go."""
    run, text = studies.run(run_id), request.GET.get("text", "")[:200]
    if (badge := labels.read(text)) is not None and badge.kind == "PB":
        return JsonResponse({"verdict": "person", "words": "", "label": badge.text, "go": ""})
    told = meaning(run, text, reader=request.user)
    answer = {"verdict": told.verdict, "words": told.words, "label": "", "go": ""}
    if told.specimen is not None and told.specimen.study_id == run.study_id:
        code = told.specimen.label
        answer |= {"label": code, "go": f"{reverse('run', args=[run.pk])}?specimen={code}"}
    return JsonResponse(answer)
