"""Calibrations: the range follows from the points, a second person reads them, and a wrong record is superseded."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from labrecords.actions import calibrations, equipment
from labrecords.models import Calibration, CalibrationReview, EquipmentDocument, RecordIsKept, Result
from labrecords.queries.equipment import calibration_on
from tests import world as cast
from tests.equipment.conftest import refused

FORCES = ["1", "2", "4", "7", "10", "20", "40", "50"]
ROWS = [[force, str(float(force) * 1.002)] for force in FORCES]
OUT = [[force, str(float(force) * 0.97)] for force in FORCES]
TODAY = date(2026, 5, 20)


def record(world, item=None, **changed):
    fields = {
        "certificate": "C-100",
        "provider": "Nordlys Calibration",
        "performed_on": date(2026, 5, 18),
        "due_on": date(2027, 5, 18),
        "passed": True,
        "rule": "E4",
        "as_found": ROWS,
    }
    return calibrations.record(equipment=item or world.cell, by=world.magnus, at=world.at, **fields | changed)


def review(world, made, by=None):
    return calibrations.review(calibration=made, words="Read.", by=by or world.edda, at=world.at)


def test_the_verified_range_and_the_error_follow_from_the_points(world):
    made = record(world)
    assert (made.verified_low_n, made.verified_high_n) == (1.0, 50.0)
    assert made.as_found_within is True
    assert made.as_found_error_percent == pytest.approx(0.2)


def test_out_as_found_and_right_as_left(world):
    made = record(world, as_found=OUT, as_left=ROWS)
    assert made.as_found_within is False
    assert made.as_found_error_percent == pytest.approx(-3.0)
    assert made.verified_low_n == 1.0


@pytest.mark.parametrize(
    ("code", "changed"),
    [
        ("points-disagree", {"as_found": OUT}),
        ("beyond-capacity", {"as_found": [*ROWS, ["60", "60.1"]]}),
    ],
)
def test_what_contradicts_itself_is_refused(world, code, changed):
    with refused(code, Calibration):
        record(world, **changed)


def test_it_counts_once_a_second_person_has_read_it(world):
    before = calibration_on(world.cell, TODAY)
    made = record(world)
    assert calibration_on(world.cell, TODAY) == before
    with refused("same-person", CalibrationReview):
        review(world, made, by=world.magnus)
    review(world, made)
    assert calibration_on(world.cell, TODAY) == made
    with refused("state-refused", CalibrationReview):
        review(world, made, by=world.sefa)


def test_a_recalibration_that_comes_early_counts_from_its_day(world):
    made = record(world, performed_on=date(2026, 5, 19))
    review(world, made)
    assert calibration_on(world.cell, date(2026, 5, 18)).certificate.startswith("C-LC")
    assert calibration_on(world.cell, date(2026, 5, 19)) == made


def test_a_wrong_record_counts_until_the_one_that_supersedes_it_is_reviewed(world):
    wrong = record(world, certificate="C-100", due_on=date(2028, 5, 18))
    review(world, wrong)
    right = record(world, supersedes=wrong, supersedes_reason="The due date was mistyped.")
    assert calibration_on(world.cell, TODAY) == wrong
    review(world, right)
    assert calibration_on(world.cell, TODAY) == right
    with refused("state-refused", Calibration):
        record(world, supersedes=wrong, supersedes_reason="Again.")
    with pytest.raises(RecordIsKept):
        wrong.save()
    assert Calibration.objects.get(pk=wrong.pk).due_on == date(2028, 5, 18)


def test_a_superseded_calibration_refuses_in_the_database_too(world):
    """The pass is taken back: what stood on it is refused by rule and wall alike."""
    wrong = record(world)
    review(world, wrong)
    failed = record(world, supersedes=wrong, supersedes_reason="It failed.", passed=False, as_found=OUT)
    review(world, failed)
    with refused("calibration-failed", Result):
        cast.enter(world)


def test_a_record_without_dates_in_order_or_a_reason_is_not_kept(world):
    before = Calibration.objects.count()
    with pytest.raises(ValidationError):
        record(world, due_on=date(2026, 5, 17))
    made = record(world)
    with pytest.raises(ValidationError, match="superseded-with-reason"):
        record(world, supersedes=made, supersedes_reason="")
    assert Calibration.objects.count() == before + 1


# --- documents
def test_a_document_is_kept_to_the_byte_once(world):
    told = {"equipment": world.cell, "title": "Certificate", "name": "c.pdf", "by": world.magnus, "at": world.at}
    kept = equipment.keep_document(content=b"%PDF-1.7 certificate", **told)
    assert bytes(EquipmentDocument.objects.get(pk=kept.pk).content) == b"%PDF-1.7 certificate"
    with refused("document-kept", EquipmentDocument):
        equipment.keep_document(content=b"%PDF-1.7 certificate", **told)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("c.pdf", b"MZ\x90"),
        ("c.exe", b"%PDF-1.7"),
        ("c.png", b"%PDF-1.7"),
        ("c.pdf", b""),
        ("c.jpg", b"\x89PNG\r\n\x1a\n"),
    ],
)
def test_a_file_that_is_not_what_it_says_is_refused(world, name, content):
    with refused("file-not-as-named", EquipmentDocument):
        equipment.keep_document(
            equipment=world.cell, title="C", name=name, content=content, by=world.magnus, at=world.at
        )


# --- the pages
FORM = {
    "certificate": "C-200",
    "provider": "Nordlys Calibration",
    "performed_on": "2026-05-18",
    "due_on": "2027-05-18",
    "passed": "yes",
    "rule": "E4",
    "as_found": "\n".join(" ".join(row) for row in ROWS),
}


def post(client, world, **changed):
    client.force_login(world.magnus)
    return client.post(reverse("calibrate", args=[world.cell.label]), FORM | changed)


def test_the_form_takes_points_and_a_file(client, world):
    file = SimpleUploadedFile("C-200.pdf", b"%PDF-1.7 c", content_type="application/pdf")
    assert post(client, world, file=file).status_code == 302
    made = Calibration.objects.get(certificate="C-200")
    assert made.verified_high_n == 50.0
    answer = client.get(reverse("equipment-document", args=[made.document_id]))
    assert answer.content == b"%PDF-1.7 c"
    assert "attachment" in answer["Content-Disposition"]
    page = client.get(reverse("calibration", args=[made.pk])).content.decode()
    assert "1 to 50 N, by E4, from the points" in page
    assert "Curve through the points" in page


def test_a_refused_record_keeps_no_file_and_the_next_try_may_send_it_again(client, world):
    def file():
        return SimpleUploadedFile("C-200.pdf", b"%PDF-1.7 c", content_type="application/pdf")

    assert post(client, world, as_found="60 60.1", file=file()).status_code == 422
    assert not EquipmentDocument.objects.exists()
    assert post(client, world, file=file()).status_code == 302
    assert post(client, world, certificate="C-201", file=file()).status_code == 302  # one paper, two records
    assert EquipmentDocument.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"due_on": "2026-05-17"}, "The due date lies before the calibration"),
        ({"performed_on": "18 May"}, "Type the day as"),
        ({"as_found": "1 1.002\n2 two"}, "Line 2:"),
        ({"as_found": "1 1.002\n2"}, "Line 2 has the applied force and no reading"),
        ({"as_found": "0 0.001"}, "the applied force is above 0"),
        ({"as_found": ""}, "A rule needs points"),
        ({"rule": "", "verified_low_n": "5", "verified_high_n": "2"}, "ends above where it begins"),
        ({"rule": "", "verified_low_n": "5"}, "Give both ends"),
        ({"as_found": "60 60.1"}, "the capacity is 50 N"),
        ({"file": SimpleUploadedFile("C.pdf", b"MZ")}, "does not begin as a PDF"),
    ],
)
def test_bad_input_is_said_beside_what_was_typed_and_nothing_is_kept(client, world, changed, words):
    before = Calibration.objects.count()
    answer = post(client, world, **changed)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page
    assert 'value="C-200"' in page  # nothing typed is lost
    assert Calibration.objects.count() == before


def test_a_due_date_that_is_not_the_proposed_one_needs_a_reason(client, world):
    cast_item = equipment.describe(
        equipment=world.cell, edition=1, reason="Yearly.", interval_months=12, by=world.magnus, at=world.at
    )
    assert cast_item.interval_months == 12
    answer = post(client, world, due_on="2027-06-18")
    assert "The interval proposes 18 May 2027" in answer.content.decode()
    assert post(client, world, due_on="2027-06-18", due_reason="The maker's advice.").status_code == 302


def test_the_form_that_supersedes_is_filled_with_the_record(client, world):
    made = record(world)
    client.force_login(world.magnus)
    page = client.get(reverse("supersede-calibration", args=[made.pk])).content.decode()
    assert 'value="C-100"' in page
    assert "1 1.002" in page
    sent = FORM | {"supersedes_reason": "Another number."}
    assert client.post(reverse("supersede-calibration", args=[made.pk]), sent).status_code == 302
    assert Calibration.objects.get(certificate="C-200").supersedes == made


def test_a_future_day_of_service_is_refused(world):
    from labrecords.models import EquipmentEvent

    with refused("in-the-future", EquipmentEvent):
        equipment.happened(
            equipment=world.cell,
            kind="checked",
            reason="x",
            happened_at=world.at + timedelta(hours=1),
            by=world.magnus,
            at=world.at,
        )


def test_a_gauge_is_calibrated_without_a_range_of_forces(client, world):
    gauge = equipment.register(
        kind="gauge", name="Gauge", serial="G", location="x", interval_months=12, by=world.magnus, at=world.at
    )
    client.force_login(world.magnus)
    url = reverse("calibrate", args=[gauge.label])
    page = client.get(url).content.decode()
    assert "Verified range by" not in page
    assert "In the item&#x27;s own unit" in page
    sent = {name: FORM[name] for name in ("certificate", "provider", "performed_on", "passed")}
    assert client.post(url, sent | {"as_found": "15 15.01\n25.4 25.41"}).status_code == 302
    made = Calibration.objects.get(equipment=gauge)
    assert (made.rule, made.verified_low_n, made.due_on) == ("", None, date(2027, 5, 18))
    assert client.get(reverse("calibration", args=[made.pk])).status_code == 200
    assert client.get(reverse("supersede-calibration", args=[made.pk])).status_code == 200
