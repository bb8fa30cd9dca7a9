"""What changed? Through the page, with published data and with a swapped load cell."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.models import Equipment, Specimen
from tests import loaded
from tests import world as cast
from tests.windows.cast import group

# NIST StRD, one-way analysis of variance, SiRstv: five instruments. Certified: between 5.11462616000000e-2 (4), within
# 2.16636560000000e-1 (20), F 1.18046237440255, R squared 1.90999039051129e-1.
SIRSTV = {
    "1": ["196.3052", "196.1240", "196.1890", "196.2569", "196.3403"],
    "2": ["196.3042", "196.3825", "196.1669", "196.3257", "196.0422"],
    "3": ["196.1303", "196.2005", "196.2889", "196.0343", "196.1811"],
    "4": ["196.2795", "196.1748", "196.1494", "196.1485", "195.9885"],
    "5": ["196.2119", "196.1051", "196.1850", "196.0052", "196.2090"],
}
CORRECTED = 1 - (2.16636560e-1 / 20) / ((5.11462616e-2 + 2.16636560e-1) / 24)


@pytest.fixture
def world(laboratory):
    return laboratory


def page(client, world, study, status=200, **given) -> str:
    client.force_login(world.edda)
    answer = client.get(reverse("changes", args=[study.code]), given)
    assert answer.status_code == status
    return re.sub(r"\s+", " ", answer.content.decode())


def made(world, values, **changed):
    study = loaded.planned(world, [group(lot, len(row)) for lot, row in values.items()], **changed)
    loaded.received(world, study, list(values))
    return study


def row_of(text, label) -> list[str]:
    table = text[text.index('<h2 id="shares">') :]
    return re.search(rf'<th scope="row">{label}</th>((?: <td[^>]*>[^<]*</td>)+)', table)[1]


def test_nist_s_certified_share_is_read_off_the_page(client, world):
    study = made(world, SIRSTV, setup={"unit": "gf/in", "decimals": 4, "expected_weak_n": 1.5})
    loaded.entered(world, study, SIRSTV, unit="gf/in")
    row = row_of(page(client, world, study), "Lot")
    assert ">19.1 %<" in row
    assert f">{100 * CORRECTED:.0f} %<" in row
    assert ">p 0.349<" in row  # of F 1.18046 on 4 and 20
    assert ">5<" in row


@pytest.fixture
def swapped(world):
    """One lot, half of it pulled on either cell; the second cell reads low. Invented."""
    first, second = ["1.52", "1.49", "1.51", "1.50", "1.53", "1.51"], ["1.38", "1.41", "1.37", "1.40", "1.39", "1.38"]
    study = made(world, {"L": first + second})
    other = cast.add_equipment(world.people, Equipment.CELL, "Cell 100 N", 100.0, world.at - timedelta(days=20))
    strips = list(Specimen.objects.filter(study=study).order_by("label"))
    for cell, half, row in ((world.cell, strips[:6], first), (other, strips[6:], second)):
        run = cast.open_run(world, study=study, cell=cell)
        for strip, value in zip(half, row, strict=True):
            cast.enter(world, specimen=strip, run=run, typed=value, at=world.at, tested_at=world.at)
    return study


def test_a_swapped_cell_is_found_and_named(client, world, swapped):
    text = page(client, world, swapped)
    strip = Specimen.objects.filter(study=swapped).order_by("label")[6]
    assert f"before {strip.label}" in text
    assert "lower than the first" in text
    # the certificate goes with the cell
    assert (
        "load cell and calibration of the cell changed together: these data cannot tell which of them did it." in text
    )
    assert "Hang one check mass on both cells" in text
    assert (
        "Cannot be told apart in these data, since they change in step: load cell, calibration of the cell, run."
        in text
    )
    assert "The same on both sides: " in text
    assert "tested by" in text[text.index("The same on both sides: ") :]


def test_a_shift_is_laid_where_something_on_record_changed_if_it_fits_nearly_as_well(client, world, swapped):
    assert "The place is the most likely one" in page(client, world, swapped)
    first, second = ["1.52", "1.45", "1.55", "1.50", "1.53", "1.44"], ["1.34", "1.43", "1.37", "1.42", "1.36", "1.38"]
    study = made(world, {"L1": first, "L2": second})
    loaded.entered(world, study, {"L1": first, "L2": second})
    text = page(client, world, study)
    assert "The place is where something on record changed, 1 result later than the most likely one" in text
    assert "One thing changed altogether between the two groups: lot." in text


def test_groups_are_picked_by_what_is_recorded(client, world, swapped):
    levels = re.findall(r'value="(Load cell\|[^"]*)"', page(client, world, swapped))
    text = page(client, world, swapped, how="picked", scope="study", one=levels[1], other=levels[0])
    assert "higher than the first" in text
    answer = page(client, world, swapped, status=422, how="picked", scope="study", one=levels[0], other=levels[0])
    assert "a group is not compared with itself" in answer


def test_a_day_that_splits_nothing_gets_a_sentence(client, world, swapped):
    text = page(client, world, swapped, how="day", scope="study", day="2026-01-01")
    assert "One of the two groups has no value" in text
    assert "Say from which day on." in page(client, world, swapped, status=422, how="day", scope="study", day="")


@pytest.mark.parametrize("values", [[], ["1.50"], ["1.50"] * 8])
def test_small_and_degenerate_data_get_a_sentence(client, world, values):
    study = made(world, {"L": values or ["1.50"]})
    if values:
        loaded.entered(world, study, {"L": values})
    text = page(client, world, study)
    assert "No shift can be looked for" in text


def test_studies_of_another_mark_are_not_laid_beside(client, world, swapped):
    other = made(world, {"X": ["2.90", "2.80", "2.95"]}, setup={"technique": "C"})
    cast.authorise(world.runa, world.method, by=world.magnus, at=world.at, technique="C")
    loaded.entered(world, other, {"X": ["2.90", "2.80", "2.95"]}, technique="C")
    text = page(client, world, swapped, how="found", scope="mark")
    assert other.code not in text


def test_the_number_of_queries_does_not_grow_with_the_results(client, world):
    counts = []
    for n in (6, 12):
        values = {"L": [f"1.{50 + place % 4}" for place in range(n)]}
        study = made(world, values)
        loaded.entered(world, study, values)
        page(client, world, study)
        with CaptureQueriesContext(connection) as caught:
            page(client, world, study)
        counts.append(len(caught))
    assert counts[0] == counts[1]
