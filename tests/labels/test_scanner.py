"""Check this scanner: what came is kept with who and when, and shown on the tester's page."""

import pytest
from django.urls import reverse

from labrecords.actions import scanners
from labrecords.actions.refusals import Refused
from labrecords.models import Event, ScannerCheck
from labrecords.rules.scanner_check import ALPHABET


@pytest.fixture
def world(laboratory):
    return laboratory


def sent(client, world, scanned, framed="1"):
    client.force_login(world.runa)
    return client.post(reverse("check-scanner", args=[world.tester.label]), {"scanned": scanned, "framed": framed})


def test_a_scanner_that_reads_all_passes_and_the_testers_page_says_so(client, world):
    answer = sent(client, world, ALPHABET)
    assert answer.status_code == 302
    kept = ScannerCheck.objects.get()
    assert (kept.passed, kept.framed, kept.by, kept.tester) == (True, True, world.runa, world.tester)
    assert Event.objects.filter(act="scanner.checked").count() == 1
    page = client.get(reverse("equipment-item", args=[world.tester.label])).content.decode()
    assert "Passed" in page
    assert world.runa.name in page


def test_what_came_wrong_is_named_and_kept(client, world):
    answer = sent(client, world, ALPHABET.replace("YZ", "ZY"), framed="")
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "Y came out as Z." in text
    assert "as if typed" in text
    kept = ScannerCheck.objects.get()
    assert (kept.passed, kept.framed, kept.wrong) == (False, False, ["Y came out as Z.", "Z came out as Y."])


def test_an_empty_field_is_no_check(client, world):
    answer = sent(client, world, " ")
    assert answer.status_code == 422
    assert not ScannerCheck.objects.exists()


def test_only_a_tester_has_one(client, world):
    client.force_login(world.runa)
    assert client.get(reverse("check-scanner", args=[world.cell.label])).status_code == 404
    with pytest.raises(Refused) as refused:
        scanners.check(tester=world.cell, scanned=ALPHABET, framed=True, by=world.runa, at=world.at)
    assert refused.value.codes == ("not-a-tester",)
    assert not ScannerCheck.objects.exists()
