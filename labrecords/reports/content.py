"""The content of a report: the findings, its number and day, who answered for what, and where the trail stands."""

import pathlib
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings

from labrecords.charts.svg import svg
from labrecords.models import Photo, Report, Study, User
from labrecords.queries import lab, photos, reports, traces
from labrecords.queries.numbers import study_numbers
from labrecords.rules.canonical import canonical, sha256

from . import amended, check_code, figures, photographs, shape, tables, typeset
from .days import written_day, written_time

VERIFIER, NUMBERS = (pathlib.Path(__file__).with_name(name).read_bytes() for name in ("verify.py", "verify_numbers.py"))


@dataclass(frozen=True)
class Made:
    """A report ready to be kept: its content, the content's hash, and every file."""

    content: str
    content_sha256: str
    files: tuple["File", ...]


@dataclass(frozen=True)
class File:
    """A file of a report."""

    name: str
    media_type: str
    title: str
    content: bytes


def make(
    study: Study,
    found: dict[str, Any],
    *,
    number: str,
    prior: Report | None,
    signer: User,
    meaning: str,
    at: datetime,
) -> Made:
    """Set the report; `prior` is the issue that it replaces. Raises ValueError naming whatever it lacks."""
    drawn = _figures(study)
    content = found | {
        "schema": shape.SCHEMA,
        "number": number,
        "issue": prior.issue + 1 if prior else 1,
        "replaces": amended.replaces(prior.amendment) if prior else "",
        "changes": amended.changes(prior, found) if prior else [],
        "issued_on": written_day(at, lab.zone()),
        "figures": [_described(figure) for figure in drawn],
        "people": [*_people(study), _act("Released and signed", signer.name, meaning, at)],
        "trail": reports.head(),
    }
    digest = sha256(canonical(content))
    content["content_sha256"] = digest
    shape.check(content)
    pictures = {figure.id: svg(figure) for figure in drawn}
    results = tables.results_csv(study, study_numbers(study))
    check = check_code.address(settings.SITE_ADDRESS, number, digest)
    pdf = typeset.pdf(content, pictures, attachments={"results.csv": results}, check=check)
    return Made(canonical(content), digest, tuple(_files(study, canonical(content), pictures, results, pdf, drawn)))


def _figures(study: Study) -> list:
    groups = study_numbers(study)
    found = [figures.value_figure(study, groups)]
    found += [figures.probability_figure(study, group) for group in groups]
    for group in groups:
        figure = figures.trace_figure(list(traces.curves(study, group=group.group)), group=str(group.group))
        found.append(figure and _renamed(figure, f"traces-{group.group.number}"))
    return [figure for figure in found if figure is not None]


def _renamed(figure, name: str):
    from dataclasses import replace

    return replace(figure, id=name)


def _described(figure) -> dict[str, Any]:
    return {
        "name": figure.id,
        "title": figure.title,
        "subtitle": figure.subtitle,
        "alt": figure.label,
        "summary": list(figure.summary),
    }


def _people(study: Study) -> list[dict[str, str]]:
    review = reports.accepted_review(study)
    acts = [_act("Planned and locked", study.locked_by.name, "the set-up may not change from here on", study.locked_at)]
    acts += [_at_the_bench("Tested", name, "pulled the specimens") for name in reports.tested_by(study)]
    acts += [_at_the_bench("Entered", name, "entered results of others") for name in reports.entered_only(study)]
    if review is not None:
        acts.append(_act("Reviewed", review.by.name, f"accepted: {review.words}", review.at))
    return acts


def _at_the_bench(act: str, name: str, meaning: str) -> dict[str, str]:
    return {"act": act, "name": name, "meaning": meaning, "at": "see results"}


def _act(act: str, name: str, meaning: str, at: datetime) -> dict[str, str]:
    return {"act": act, "name": name, "meaning": meaning, "at": written_time(at, lab.zone())}


def _files(study, content: str, pictures: dict[str, bytes], results: bytes, pdf: bytes, drawn):
    files = [
        File("report.pdf", "application/pdf", "The report", pdf),
        File("content.json", "application/json", "Everything the report says, as JSON", content.encode()),
        File("results.csv", "text/csv; charset=utf-8", "Results, one row a specimen", results),
        File("traces.csv", "text/csv; charset=utf-8", "Traces, every point", tables.traces_csv(traces.curves(study))),
        File("README.txt", "text/plain; charset=utf-8", "What the files hold", tables.README.encode()),
        File("verify.py", "text/plain; charset=utf-8", "Checks these files with nothing but Python", VERIFIER),
        File("verify_numbers.py", "text/plain; charset=utf-8", "Its part for the numbers of groups", NUMBERS),
    ]
    files += [File(f"{figure.id}.svg", "image/svg+xml", figure.title, pictures[figure.id]) for figure in drawn]
    files += [_photograph(name, photo) for name, photo in photographs.named(study)]
    manifest = "".join(f"{_sha(file.content)}  {file.name}\n" for file in files)
    return [*files, File("manifest.txt", "text/plain; charset=utf-8", "SHA-256 of every file", manifest.encode())]


def _photograph(name: str, photo: Photo) -> File:
    return File(name, "image/jpeg", f"Photograph of {photo.result.specimen.label}", photos.picture(photo))


def _sha(content: bytes) -> str:
    import hashlib

    return hashlib.sha256(content).hexdigest()
