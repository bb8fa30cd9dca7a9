"""What a large study costs, act by act, beside a page that asks nothing of the records.

Run `.venv/bin/pytest -c pyproject.toml -o python_files=bench_*.py -o python_functions=bench_* -s
tests/benchmarks/bench_large_study.py` on a quiet machine; LABRECORDS_STRIPS says how many strips (300 by default),
each with its trace, all in one file of the tester.
"""

import os
import time

from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from labrecords.actions import reports
from labrecords.files.sniff import sniff
from labrecords.management.demo import peel
from labrecords.models import Result, Specimen, Study
from labrecords.reports.findings import findings, findings_sha256
from tests import loaded
from tests import world as cast
from tests.benchmarks.conftest import best_times
from tests.clock import stopped

STRIPS = int(os.environ.get("LABRECORDS_STRIPS", "300"))


def file_of(strips) -> bytes:
    """One file with the trace of every strip, about 300 readings each."""
    pulls = [
        peel.peel_trace(
            seed=seed, mean_force_n=6.5, peel_travel_mm=11.5, cell_capacity_n=44, rate_mm_min=279.4, sampling_hz=100
        )
        for seed in range(len(strips))
    ]
    codes = [strip.label for strip in strips]
    return peel.as_text(pulls, codes=codes, rate="11 in/min", technique="A", width="25.4 mm").encode()


class Clock:
    """Times acts, and prints each beside the empty page of the same run."""

    def __init__(self, client):
        [self.empty] = best_times(lambda: client.get(reverse("help")), rounds=20)
        print(f"\nan empty page: {1e3 * self.empty:.1f} ms; {STRIPS} strips")

    def __call__(self, name, act):
        start = time.perf_counter()
        answer = act()
        took = time.perf_counter() - start
        print(f"{name}: {took:.2f} s, {took / self.empty:.0f} times an empty page")
        return answer


def bench_a_large_study(laboratory, client, monkeypatch):
    stopped(monkeypatch, laboratory.at)
    study = loaded.planned(laboratory, [cast.GROUPS[0] | {"packs": STRIPS}])
    loaded.received(laboratory, study, [cast.GROUPS[0]["lot"]])
    run = cast.open_run(laboratory, study=study)
    client.force_login(laboratory.runa)
    clock = Clock(client)
    content = file_of(list(Specimen.objects.filter(study=study).order_by("label")))
    print(f"its file: {len(content) / 1e6:.1f} MB")
    clock("the file read bare", lambda: sniff(content))
    matching = imported(client, clock, run, content)
    clock("looking at it again", lambda: client.get(matching))
    clock("the study's page", lambda: client.get(reverse("study", args=[study.code])))
    released(laboratory, client, clock, study)


def imported(client, clock, run, content) -> str:
    where = reverse("receive-traces", args=[run.pk])
    answer = clock("taking the file", lambda: client.post(where, {"files": SimpleUploadedFile("all.csv", content)}))
    assert answer.status_code == 302, answer.content.decode()
    page = clock("matching its curves", lambda: client.get(answer.url))
    rows = page.context["rows"]
    sent = {"keep": ""} | {part.html_name: part.value() for part in rows.management_form}
    for form in rows.forms:
        sent |= {form.add_prefix(name): form[name].value() for name in ("specimen", "key")}
        sent |= {form.add_prefix("keep"): "on", form.add_prefix("modes"): "AP"}
    kept = clock("keeping every curve", lambda: client.post(answer.url, sent))
    assert kept.status_code == 200, kept.content.decode()[:2000]
    assert Result.objects.filter(run=run).count() == STRIPS
    return answer.url


def released(laboratory, client, clock, study) -> None:
    cast.runs.close_run(run=study.runs.get(), by=laboratory.runa, at=laboratory.at)
    study = loaded.accepted(laboratory, Study.objects.get(pk=study.pk))
    client.force_login(laboratory.signe)
    clock("what will be printed, to be signed", lambda: client.get(reverse("release-study", args=[study.code])))
    given = {"password": cast.PASSWORD, "seen_sha256": findings_sha256(findings(study))}
    report = clock(
        "signing it, with its PDF", lambda: reports.release(study=study, by=laboratory.signe, at=laboratory.at, **given)
    )
    client.force_login(laboratory.clara)
    where = reverse("portal:report", args=[report.number, report.issue])
    clock("the client's page", lambda: client.get(where))
    clock("all files as one zip", lambda: client.get(f"{where}files.zip"))
