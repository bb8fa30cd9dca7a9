"""Something that is there for every part of every address, once of Clara's company and once of Otto's."""

import io
import zipfile
from dataclasses import dataclass, replace
from datetime import date

import pytest

from labrecords.actions import (
    archive,
    arrivals,
    corrections,
    equipment,
    feeds,
    labels,
    links,
    nonconforming,
    people,
    photos,
    runs,
    traces,
    tray,
)
from labrecords.actions.refusals import Refused
from labrecords.actions.second_factors import sealed_secret
from labrecords.models import ApiToken, Archive, Authorisation, Badge, Deviation, Lot, Report, SecondFactor, WaitingFile
from labrecords.rules.labels import label
from tests import loaded
from tests import world as lab
from tests.budgets import cast as budgets
from tests.files.shapes import good
from tests.photos import pictures
from tests.portal import cast as companies
from tests.portal.cast import Cast, Secrets
from tests.protocols import cast as protocols
from tests.windows import cast as windows
from tests.world import World

SECRET = "JBSWY3DPEHPK3PXP"


@dataclass(frozen=True)
class Two:
    """Both companies' things by the names that `Address.thing` gives them, and the words that only Otto may read."""

    cast: Cast
    clara: dict[str, object]
    otto: dict[str, object]
    secrets: tuple[str, ...]


def build() -> Two:
    """The two companies with their released reports, and with work that is still open."""
    cast, secret = companies.build(), Secrets()
    return Two(
        cast,
        _of(cast, cast.clara, "Clara's {}".format, kind="ones"),
        _of(cast, cast.otto, secret, kind="others"),
        (*cast.secrets, *secret.words),
    )


def _of(cast: Cast, report: Report, words, *, kind: str) -> dict[str, object]:
    world = replace(cast.world, project=report.study.project, study=None, specimens=[], run=None)
    world.study = lab.studies.lock(study=lab.plan(world, fixed_web=words("film")), by=world.edda, at=world.at)
    world.specimens = lab.receive(world)
    lot = Lot.objects.get(study=world.study)
    printed = labels.print_labels(
        codes=[world.specimens[0].label], sheet="single", margins={}, first=1, lot=lot, by=world.runa, at=world.at
    )
    specimen = report.study.specimens.order_by("label").first()
    bench = _of_the_bench(world, words)  # while no discrepancy is open, since that one would hold every result
    return {
        "studies code": world.study.code,
        "lots label": lot.label,
        "labels print_id": printed.pk,
        "specimens label": world.specimens[0].label,
        "discrepancies discrepancy_id": arrivals.find_discrepancy(
            lot=lot, words=words("discrepancy"), by=world.runa, at=world.at
        ).pk,
        "reports number": report.number,
        "reports issue": report.issue,
        "reports label": specimen.label,
        "reports name": "results.csv",
        **bench,
        **_of_equipment(world, words, kind, bytes(report.files.get(name="report.pdf").content)),
        **_of_people(world, kind),
        **_of_limits(world, words),
        **_of_protocols(world, words),
        "archives order_id": _archived(world, report, words("auditor")),
        **_of_links(world, report, words, world.clara if kind == "ones" else world.otto),
    }


def _of_the_bench(world: World, words) -> dict[str, object]:
    warm = lab.open_run(world, room_c=30.0)
    held = lab.enter(world, specimen=world.specimens[1], run=warm, remark=words("remark"))
    closed = lab.open_run(world)
    lab.enter(world, specimen=world.specimens[0], run=closed, typed="1.25")
    taken = _photographed(world, words)
    with pytest.raises(Refused) as second:
        lab.enter(world, specimen=world.specimens[0], run=closed, typed=words("mistyped"))
    for run in (warm, closed):
        runs.close_run(run=run, by=world.runa, at=world.at)
    asked = corrections.ask(
        specimen=world.specimens[0],
        reason="typing",
        words=words("correction"),
        typed="1.52",
        unit="lbf/in",
        modes=("AP",),
        by=world.runa,
        at=world.at,
    )
    run = lab.open_run(world)
    content = f"# {world.study.code}\n".encode() + good()
    file = traces.receive_file(
        study=world.study, name=f"{words('file')}.csv", content=content, by=world.runa, at=world.at
    ).file
    waits = f"{words('waiting')}.csv"
    tray.arrive(name=waits, content=content + b"\n", remembered=None, by=world.runa, at=world.at)
    return {
        "tray waiting_id": WaitingFile.objects.get(name=waits).pk,
        "runs run_id": run.pk,
        "runs file_id": file.pk,
        "runs refusal_id": second.value.refusal.pk,
        "deviations deviation_id": Deviation.objects.filter(result=held.result).first().pk,
        "corrections correction_id": asked.pk,
        "photographs photo_id": taken.pk,
        "nonconforming code": nonconforming.open_one(
            title=words("nonconformity"), words=words("found"), study=world.study, by=world.edda, at=world.at
        ).code,
    }


def _photographed(world: World, words):
    """A photograph of the first strip, and one that was set aside."""
    given = {"specimen": world.specimens[0], "caption": words("caption"), "by": world.runa, "at": world.at}
    wrong = photos.attach(name=f"{words('wrong')}.png", content=pictures.png(world.study.code), **given)
    photos.set_aside(photo=wrong, reason=words("aside"), by=world.runa, at=world.at)
    return photos.attach(name=f"{words('photograph')}.jpg", content=pictures.jpeg(world.study.code), **given)


def _of_equipment(world: World, words, kind: str, pdf: bytes) -> dict[str, object]:
    item = lab.add_equipment(world.people, "cell", f"Cell of the {kind}", 50.0, world.at)
    document = equipment.keep_document(
        equipment=item,
        title=words("manual"),
        name="manual.pdf",
        content=pdf,
        by=world.magnus,
        at=world.at,
    )
    return {
        "equipment label": item.label,
        "documents document_id": document.pk,
        "calibrations calibration_id": item.calibrations.get().pk,
    }


def _of_people(world: World, kind: str) -> dict[str, object]:
    technician = people.add_person(
        username=f"one_of_{kind}",
        name=f"One of the {kind}",
        password=None,
        roles={"technician"},
        by=world.magnus,
        at=world.at,
    )
    lab.authorise(technician, world.method, by=world.magnus, at=world.at, until_on=date(2026, 11, 30))
    people.give_token(person=technician, label="bench", by=world.magnus, at=world.at)
    return {
        "people username": technician.username,
        "authorisations authorisation_id": Authorisation.objects.get(person=technician).pk,
        "tokens token_id": ApiToken.objects.get(person=technician).pk,
        "calendar secret": feeds.give(person=technician, at=world.at),
        "badges badge_id": Badge.objects.create(
            person=technician, label=label("PB", 800 + len(kind)), pin="none", pin_set_at=world.at, made_at=world.at
        ).pk,
        **_of_factors(technician, kind, world.at),
    }


def _of_limits(world: World, words) -> dict[str, object]:
    study = loaded.accepted(world, windows.made(world, sealer=words("sealer")))
    for lot in windows.STRENGTHS:
        windows.seen(world, study, lot, "integrity", words=words("seen"))
    limit = windows.proposed(world, study, rationale=words("rationale"))
    return {
        "limits code": limit.code,
        "limits version": limit.version,
        "methods code": budgets.kept(world, rationale=words("budget")).code,
    }


def _of_protocols(world: World, words) -> dict[str, object]:
    study = protocols.draft(world, title=words("draft"), purpose=words("asked"))
    put = protocols.put(world, study, words=words("told"))
    return {"protocols code": study.code, "protocols version": put.version}


def _of_links(world: World, report: Report, words, person) -> dict[str, object]:
    given = {"report": report, "days": 14, "at": world.at}
    own, _ = links.give(whom=words("own-link"), by=person, **given)
    other, _ = links.give(whom=words("link"), by=world.edda, **given)
    return {"reports link_id": own.pk, "links link_id": other.pk}


def _archived(world: World, report: Report, whom: str):
    asked = archive.order(report=report, whom=whom, by=world.edda, at=world.at)
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as packed:
        packed.writestr("for.txt", whom)
    Archive.objects.create(order=asked, size=1, sha256="0" * 64, content=content.getvalue(), at=world.at)
    return asked.pk


def _of_factors(person, kind: str, at) -> dict[str, object]:
    """Two second factors of somebody of the laboratory."""
    rows = [
        SecondFactor.objects.create(
            person=person,
            kind="app",
            name=f"{name} of {kind}",
            secret=sealed_secret(SECRET, person=person),
            added_at=at,
        )
        for name in ("telephone", "tablet")
    ]
    return dict(zip(("account factor_id", "second-factors factor_id"), (row.pk for row in rows), strict=True))
