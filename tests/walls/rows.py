"""The small laboratory with at least one row in every table of records, committed."""

from datetime import date, timedelta
from decimal import Decimal
from unittest import mock

from django.apps import apps
from django.db import transaction

from labrecords.actions import (
    access,
    archive,
    arrivals,
    checks,
    deviations,
    equipment,
    labels,
    links,
    nonconforming,
    people,
    photos,
    protocols,
    scanners,
    sign_ins,
    traces,
    trail,
    tray,
    voids,
)
from labrecords.actions.refusals import Refused
from labrecords.actions.results import TraceChoice
from labrecords.files.sniff import sniff
from labrecords.management.demo.peel import as_text, peel_trace
from labrecords.models import (
    Correction,
    CorrectionDecision,
    Criterion,
    DerivedLimit,
    Event,
    Lot,
    Nonconformity,
    Pack,
    PullOrder,
    PullPlace,
    Record,
    Report,
    ReportAmendment,
    ReportFile,
    ReportInQuestion,
    ReportWithdrawal,
    Result,
    Review,
    Seal,
    SealingSetting,
    SealingWindow,
    Signature,
    Specimen,
    Study,
    ValidationDecision,
    ValidationPerson,
    ValidationPlan,
    WaitingFile,
)
from tests import world as cast
from tests.budgets import cast as budgets
from tests.files.shapes import good
from tests.photos import pictures
from tests.windows import cast as windows
from tests.world import World

KEPT = sorted(
    model._meta.db_table
    for model in apps.get_app_config("labrecords").get_models()
    if issubclass(model, (Record, Event, Seal, Lot, Pack, Specimen))
)
SHA256 = "0" * 64


def world_with(packs: int) -> World:
    """The laboratory with that many specimens, one a pack."""
    with mock.patch.object(cast, "GROUPS", [cast.GROUPS[0] | {"packs": packs}]):
        return cast.build()


def fill(world: World) -> None:
    """One row and more in every table of records, and a draft; four specimens are needed."""
    cast.plan(world)
    _window(world)
    _people_and_equipment(world)
    _kept_under_deviation(world)
    _traced(world)
    voids.void(specimen=world.specimens[2], cause="cut", words="Nicked edge.", by=world.runa, at=world.at)
    _refused(world)
    _reported(world)
    _validation(world)
    _corrected(world)
    sign_ins.keep(username="runa", address="192.0.2.1", succeeded=True, at=world.at)
    budgets.approved(world)
    _agreed(world)
    _linked(world)
    _labelled(world)


def _agreed(world: World) -> None:
    """The draft's protocol, agreed to by the client."""
    Study.objects.filter(locked_at=None).update(agreement="client", no_agreement_reason="")
    draft = Study.objects.get(locked_at=None)
    put = protocols.put(study=draft, words="", password=cast.PASSWORD, by=world.edda, at=world.at)
    said = {"said_by": "Clara Fjell", "said_on": date(2026, 5, 20), "received_as": "letter"}
    protocols.record(protocol=put, agreed=True, words="", by=world.edda, at=world.at, **said)


def _linked(world: World) -> None:
    """A link to the report, revoked, and one that opened nothing."""
    link, _ = links.give(report=Report.objects.get(), whom="Ines Falk", days=14, by=world.edda, at=world.at)
    links.revoke(link=link, by=world.edda, at=world.at)
    asked = archive.order(report=Report.objects.get(), whom="Ines Falk", by=world.edda, at=world.at)
    archive.give_up(asked=asked, problem="The disk was full.", at=world.at)
    access.record_failure(address="192.0.2.1", at=world.at)


def _labelled(world: World) -> None:
    """A label printed, a scanner checked, and a file of the tray set aside."""
    lot = world.specimens[0].pack.lot
    given = {"codes": [world.specimens[0].label], "sheet": "single", "margins": {}, "first": 1}
    labels.print_labels(lot=lot, by=world.runa, at=world.at, **given)
    scanners.check(tester=world.tester, scanned="0", framed=True, by=world.runa, at=world.at)
    tray.arrive(name="nobody's.csv", content=good(), remembered=None, by=world.runa, at=world.at)
    tray.set_aside(waiting=WaitingFile.objects.get(), reason="a trial", by=world.runa, at=world.at)


def _people_and_equipment(world: World) -> None:
    held = cast.authorise(world.timo, world.method, by=world.magnus, at=world.at)
    people.withdraw(authorisation=held, from_on=date(2026, 6, 1), reason="moved on", by=world.magnus, at=world.at)
    spare = cast.add_equipment(world.people, "tester", "Bench tester 2", 500.0, world.at)
    equipment.take_out_of_service(equipment=spare, reason="being moved", by=world.magnus, at=world.at)
    equipment.keep_document(
        equipment=spare, title="Manual", name="manual.pdf", content=b"%PDF-1.7", by=world.magnus, at=world.at
    )
    _checks(world)
    _arrival(world)
    nonconforming_work(world)


def _window(world: World) -> None:
    """The draft looks for a window; its limit stands there without the days of work that lead to one."""
    draft = Study.objects.get(locked_at=None)
    window = SealingWindow.objects.create(study=draft, sealer="bar sealer 2", openings=False)
    SealingSetting.objects.create(window=window, number=1, **windows.setting("low"))
    windows.seen(world, draft, "low", "visual")
    with transaction.atomic():
        limit = DerivedLimit.objects.create(
            code="L-2026-0001",
            version=1,
            study=draft,
            side="lower",
            value=Decimal("1.18"),
            unit="lbf/in",
            bound=1.2469,
            bound_of="low, as made, side",
            margin_percent=Decimal(5),
            rationale="All three settings hold in use.",
            content={"results": []},
            by=world.edda,
            at=world.at,
        )
        after = {"id": limit.pk}
        trail.write("limit.proposed", subject=f"limit {limit}", by=world.edda, at=world.at, study=draft, after=after)
    windows.approved(world, limit, approved=False)


def _validation(world: World) -> None:
    """The draft is a validation study too: its order and a decision, without the days of work that lead there."""
    draft = Study.objects.get(locked_at=None)
    plan = ValidationPlan.objects.create(study=draft, design="crossed", margin=Decimal("0.1"), reason="agreed")
    ValidationPerson.objects.create(plan=plan, person=world.timo, joins=False)
    Criterion.objects.create(plan=plan, kind="repeatability", percent=Decimal(6))
    with transaction.atomic():
        order = PullOrder.objects.create(study=draft, seed="41", by=world.edda, at=world.at)
        PullPlace.objects.create(order=order, specimen=world.specimens[0], person=world.timo, number=1, at=world.at)
        after = {"id": order.pk}
        trail.write("order.drawn", subject=f"study {draft}", by=world.edda, at=world.at, study=draft, after=after)
    with transaction.atomic():
        kept = ValidationDecision.objects.create(
            study=world.study, passed=False, words="Read.", content={}, by=world.magnus, at=world.at
        )
        after = {"id": kept.pk}
        trail.write("validation.decided", subject="study", by=world.magnus, at=world.at, study=world.study, after=after)


def _corrected(world: World) -> None:
    """A correction of the first result that somebody has agreed to, before its next version is written."""
    first = Result.objects.order_by("at", "id").first()
    with transaction.atomic():
        made = Correction.objects.create(
            result=first,
            reason="typing",
            words="w",
            typed="1.60",
            unit="lbf/in",
            modes=["AP"],
            opened=False,
            by=world.runa,
            at=world.at,
        )
        kept = CorrectionDecision.objects.create(correction=made, agreed=True, words="w", by=world.sefa, at=world.at)
        for act, row in (("correction.asked", made), ("correction.decided", kept)):
            trail.write(act, subject="specimen", by=world.sefa, at=world.at, after={"id": row.pk})


def _checks(world: World) -> None:
    """Enough readings of a mass for limits."""
    mass = cast.add_standard(world)
    pair = {"tester": world.tester, "cell": world.cell, "standard": mass}
    for step in range(8):
        moment = world.at - timedelta(hours=3, minutes=10 - step)
        value = 9.81 + 0.001 * (step % 3)
        checks.take(value_n=value, taken_at=moment, by=world.runa, at=moment, **pair)
    checks.set_baseline(name="first eight", by=world.magnus, at=world.at, **pair)


def _arrival(world: World) -> None:
    lot = world.specimens[0].pack.lot
    then = world.at - timedelta(days=6)
    found = arrivals.find_discrepancy(lot=lot, words="One pouch more than agreed.", by=world.runa, at=then)
    arrivals.answer_discrepancy(
        discrepancy=found,
        proceeds=True,
        words="Leave it out.",
        said_by="Clara Fjell, by telephone",
        said_on=then.date(),
        disclaimer="One pouch more than agreed came and was not tested.",
        by=world.edda,
        at=then,
    )
    arrivals.record_treatment(
        lot=lot,
        kind="sterilised",
        arm="as made",
        time_point="",
        evidence="cycle 14",
        started_on=then.date(),
        ended_on=then.date(),
        by=world.runa,
        at=then,
    )


def nonconforming_work(world: World) -> None:
    """Nonconforming work with a held study and one step; its report is put in question by `_reported`."""
    made = nonconforming.open_one(
        title="Two strips mixed up", words="Labels swapped.", study=world.study, by=world.runa, at=world.at
    )
    nonconforming.add_step(nonconformity=made, kind="decision", words="Repeat.", by=world.edda, at=world.at)


def _kept_under_deviation(world: World) -> None:
    warm = cast.open_run(world, room_c=27.0)
    kept = cast.enter(world, run=warm)
    deviation = kept.result.deviations.get()
    deviations.decide(deviation=deviation, counts=True, words="Warm, not hot.", by=world.edda, at=world.at)


def trace_choice(world: World, *, seed: int = 1) -> TraceChoice:
    """A trace file of one specimen, received, with the layout found in it."""
    pulled = peel_trace(
        seed=seed, mean_force_n=6.0, peel_travel_mm=20.0, cell_capacity_n=50.0, rate_mm_min=279.4, sampling_hz=50.0
    )
    text = as_text([pulled], codes=[f"pull {seed}"], rate="11 in/min", technique="A", width="25.4 mm")
    content = text.encode()
    received = traces.receive_file(
        study=world.study, name=f"pull {seed}.csv", content=content, by=world.runa, at=world.at
    )
    return TraceChoice(received.file, 1, sniff(content).layout.to_json())


def _traced(world: World) -> None:
    choice = trace_choice(world)
    traces.remember_layout(tester=world.tester, layout=choice.layout, by=world.runa, at=world.at)
    cast.enter(world, specimen=world.specimens[1], typed="", unit="", trace=choice)
    kept = photos.attach(
        specimen=world.specimens[1], name="strip.jpg", content=pictures.jpeg(), by=world.runa, at=world.at
    )
    photos.set_aside(photo=kept, reason="another strip", by=world.runa, at=world.at)


def _refused(world: World) -> None:
    try:
        cast.enter(world, specimen=world.specimens[3], technique="C")
    except Refused:
        return
    raise AssertionError("another technique was not refused")


@transaction.atomic(durable=True)
def _reported(world: World) -> None:
    """Rows as review and release keep them, without the days of work that lead there."""
    at, study = world.at + timedelta(days=1), world.study
    review = Review.objects.create(
        study=study, accepted=True, words="Read.", content_sha256=SHA256, by=world.sefa, at=at
    )
    signature = Signature.objects.create(
        signer=world.signe,
        signer_name=world.signe.name,
        meaning="released",
        content_sha256=SHA256,
        authenticated_by="password",
        at=at,
    )
    report = Report.objects.create(
        study=study, number="R-1", title="T", content="{}", content_sha256=SHA256, signature=signature, at=at
    )
    ReportFile.objects.create(
        report=report, name="r.pdf", media_type="application/pdf", title="R", content=b"%", size=1, sha256=SHA256, at=at
    )
    nonconformity = Nonconformity.objects.get()
    amendment = ReportAmendment.objects.create(report=report, reason="misread", by=world.edda, at=at)
    last = Signature.objects.create(
        signer=world.signe,
        signer_name=world.signe.name,
        meaning="withdrawn",
        content_sha256=SHA256,
        authenticated_by="password",
        at=at,
    )
    withdrawal = ReportWithdrawal.objects.create(report=report, reason="wrong lot", signature=last, at=at)
    question = ReportInQuestion.objects.create(nonconformity=nonconformity, report=report, at=at)
    for act, row in [
        ("study.reviewed", review),
        ("signature.made", signature),
        ("report.released", report),
        ("report.amended", amendment),
        ("signature.made", last),
        ("report.withdrawn", withdrawal),
        ("nonconformity.opened", question),
    ]:
        trail.write(act, subject="study", by=world.signe, at=at, study=study, after={"id": row.pk})
    access.record_opening(report=report, name="page", by=world.clara, at=at)
